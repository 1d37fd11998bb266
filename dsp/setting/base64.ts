/** Bytes in text (RFC 4648, section 4: base 64 with padding); an exact pair. */
import { SettingError } from './setting-error.ts';

const alphabet = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/';
const codes = Uint8Array.from(alphabet, (character) => character.charCodeAt(0));
const noDigit = 255;
const digits = new Uint8Array(128).fill(noDigit);
codes.forEach((code, digit) => { digits[code] = digit; });
const padding = 61;
/** Characters are made of codes in pieces: engines limit how many arguments a call may have. */
const pieceLength = 8192;

export function writeBase64(bytes: Uint8Array): string {
  const text = new Uint8Array(4 * Math.ceil(bytes.length / 3));
  for (let at = 0, to = 0; at < bytes.length; at += 3, to += 4) {
    const a = bytes[at]!;
    const b = bytes[at + 1] ?? 0;
    const c = bytes[at + 2] ?? 0;
    text[to] = codes[a >> 2]!;
    text[to + 1] = codes[((a & 3) << 4) | (b >> 4)]!;
    text[to + 2] = at + 1 < bytes.length ? codes[((b & 15) << 2) | (c >> 6)]! : padding;
    text[to + 3] = at + 2 < bytes.length ? codes[c & 63]! : padding;
  }
  const pieces: string[] = [];
  for (let at = 0; at < text.length; at += pieceLength) pieces.push(String.fromCharCode(...text.subarray(at, at + pieceLength)));
  return pieces.join('');
}

/** @throws SettingError where it is no canonical base 64 */
export function parseBase64(text: string, where: string): Uint8Array {
  if (text.length % 4 !== 0) throw new SettingError(`${where}: expected base 64 of a length divisible by 4, got ${text.length} characters`);
  const padded = text.endsWith('==') ? 2 : text.endsWith('=') ? 1 : 0;
  const bytes = new Uint8Array((3 * text.length) / 4 - padded);
  const digitAt = (at: number): number => {
    if (at >= text.length - padded) return 0;
    const code = text.charCodeAt(at);
    const digit = code < 128 ? digits[code]! : noDigit;
    if (digit === noDigit) throw new SettingError(`${where}: expected base 64, got ${JSON.stringify(text[at])} at ${at}`);
    return digit;
  };
  for (let at = 0, to = 0; at < text.length; at += 4, to += 3) {
    const word = (digitAt(at) << 18) | (digitAt(at + 1) << 12) | (digitAt(at + 2) << 6) | digitAt(at + 3);
    // What lies beyond the last byte is zero in canonical text.
    if (to + 3 > bytes.length && (word & ((1 << (8 * (to + 3 - bytes.length))) - 1)) !== 0) throw new SettingError(`${where}: expected base 64 that ends in zero bits`);
    bytes[to] = word >> 16;
    if (to + 1 < bytes.length) bytes[to + 1] = (word >> 8) & 255;
    if (to + 2 < bytes.length) bytes[to + 2] = word & 255;
  }
  return bytes;
}
