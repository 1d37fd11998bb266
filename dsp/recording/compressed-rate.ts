/**
 * Sample rate that a file of compressed sound states, for files that are decoded elsewhere. Sources: ISO/IEC 11172-3 and 13818-3 (frame headers), ISO/IEC
 * 13818-7 (ADTS), Xiph.Org, Vorbis I specification, 4.2.2, RFC 7845 (Opus in Ogg), RFC 9559 (Matroska, WebM), ISO/IEC 14496-12 (audio sample entry). All from memory.
 */
import { highestRateHz, lowestRateHz } from './wav-format.ts';

const mpegRatesHz = [44_100, 48_000, 32_000] as const;
const adtsRatesHz = [96_000, 88_200, 64_000, 48_000, 44_100, 32_000] as const;
/** A lower one may be half of what is decoded: the upper octave can be coded apart (ISO/IEC 14496-3), which the header does not say. */
const lowestCertainRateHz = 32_000;
const opusRateHz = 48_000;

/** From the first bytes of the file, and its last where a file may end with what describes it; null: not known. */
export function compressedRateHz(first: Uint8Array, last: Uint8Array): number | null {
  const mark = text(first, 0, 4);
  if (mark === 'OggS') return oggRateHz(first);
  if (text(first, 4, 8) === 'ftyp') return sampleEntryRateHz(first) ?? sampleEntryRateHz(last);
  if (mark === '\u001aE\u00df\u00a3') return find(first, 'A_OPUS') >= 0 ? opusRateHz : vorbisRateHz(first);
  return frameRateHz(first, mark.startsWith('ID3') ? tagBytes(first) : 0);
}

/** Four digits of seven bits. */
function tagBytes(bytes: Uint8Array): number {
  return 10 + bytes[6]! * 2_097_152 + bytes[7]! * 16_384 + bytes[8]! * 128 + bytes[9]!;
}

/** Of the frame header at `start`, or behind zeros from there: anywhere else two such bytes may stand by chance. */
function frameRateHz(bytes: Uint8Array, start: number): number | null {
  let at = start;
  while (bytes[at] === 0) at += 1;
  if (at + 4 >= bytes.length || bytes[at] !== 0xff || bytes[at + 1]! < 0xe0) return null;
  const layer = (bytes[at + 1]! >> 1) & 3;
  if (layer === 0) {
    const length = ((bytes[at + 3]! & 3) << 11) | (bytes[at + 4]! << 3) | (bytes[at + 5]! >> 5);
    const follows = bytes[at + 1]! >= 0xf0 && bytes[at + length] === 0xff && (bytes[at + length + 1]! & 0xf6) === 0xf0;
    return follows ? adtsRatesHz[(bytes[at + 2]! >> 2) & 15] ?? null : null;
  }
  const version = (bytes[at + 1]! >> 3) & 3;
  const rate = mpegRatesHz[(bytes[at + 2]! >> 2) & 3];
  if (version === 1 || rate === undefined || bytes[at + 2]! >> 4 === 15) return null;
  return version === 3 ? rate : version === 2 ? rate / 2 : rate / 4;
}

function oggRateHz(bytes: Uint8Array): number | null {
  return find(bytes, 'OpusHead') >= 0 ? opusRateHz : vorbisRateHz(bytes);
}

function vorbisRateHz(bytes: Uint8Array): number | null {
  const at = find(bytes, '\u0001vorbis');
  if (at < 0 || at + 16 > bytes.length) return null;
  const rateHz = new DataView(bytes.buffer, bytes.byteOffset).getUint32(at + 12, true);
  // Any 32 bits may stand there; a rate that no recording has is not one.
  return rateHz >= lowestRateHz && rateHz <= highestRateHz ? rateHz : null;
}

function sampleEntryRateHz(bytes: Uint8Array): number | null {
  const at = find(bytes, 'mp4a');
  if (at < 0 || at + 30 > bytes.length) return null;
  const rateHz = bytes[at + 28]! * 256 + bytes[at + 29]!;
  return rateHz >= lowestCertainRateHz ? rateHz : null;
}

function find(bytes: Uint8Array, words: string): number {
  const codes = Array.from(words, (letter) => letter.charCodeAt(0));
  for (let at = bytes.indexOf(codes[0]!); at >= 0; at = bytes.indexOf(codes[0]!, at + 1)) {
    if (codes.every((code, k) => bytes[at + k] === code)) return at;
  }
  return -1;
}

function text(bytes: Uint8Array, start: number, end: number): string {
  return String.fromCharCode(...bytes.subarray(start, end));
}
