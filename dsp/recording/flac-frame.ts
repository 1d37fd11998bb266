/** One frame of a FLAC stream. Source: M. van Beurden, A. Weaver, Free Lossless Audio Codec, RFC 9639, 2024 (from memory). */
import { powerOfTwo } from '../math/index.ts';
import { BitReader } from './bit-reader.ts';
import { crc16, crc8 } from './flac-crc.ts';
import { RecordingError } from './recording-error.ts';

/** What the stream's first block says of all frames. */
export interface FlacStream {
  readonly rateHz: number;
  readonly channelCount: 1 | 2;
  readonly bits: number;
}

export interface FlacFrame {
  /** Whole numbers of the stream's bits, one array a channel. */
  readonly channels: readonly Float64Array[];
  /** Index of the byte after it. */
  readonly endByte: number;
}

const damaged = (at: number, what: string): never => {
  throw new RecordingError(`FLAC frame at byte ${at}: expected ${what}; the file is damaged`);
};

/** Bits of a sample by code; 0: as the stream says. */
const bitsByCode: readonly (number | null)[] = [0, 8, 12, null, 16, 20, 24, 32];
const midSide = 10;

/** The frame that begins at `startByte`; `fileByte` is where that is in the file, for errors. Throws OutOfBytes where it is not all there, RecordingError where it is damaged. */
export function decodeFlacFrame(bytes: Uint8Array, startByte: number, fileByte: number, stream: FlacStream): FlacFrame {
  const bits = new BitReader(bytes, startByte);
  if (bits.unsigned(15) !== 0x7ffc) damaged(fileByte, 'its mark');
  bits.unsigned(1);
  const sizeCode = bits.unsigned(4);
  const rateCode = bits.unsigned(4);
  const assignment = bits.unsigned(4);
  const bitsCode = bits.unsigned(3);
  if (bits.unsigned(1) !== 0 || sizeCode === 0 || rateCode === 15 || assignment > midSide) damaged(fileByte, 'a header in use');
  skipCodedNumber(bits, fileByte);
  const frames = blockSize(bits, sizeCode);
  if (rateCode === 12) bits.unsigned(8);
  else if (rateCode > 12) bits.unsigned(16);
  const headerEnd = bits.byteIndex;
  if (bits.unsigned(8) !== crc8(bytes, startByte, headerEnd)) damaged(fileByte, 'the checksum of its header');
  const sampleBits = bitsByCode[bitsCode]! || stream.bits;
  const channelCount = assignment < 8 ? assignment + 1 : 2;
  if (sampleBits !== stream.bits || channelCount !== stream.channelCount) damaged(fileByte, `${stream.channelCount} channels of ${stream.bits} bits as at the start`);
  // The difference of two channels has a bit more than either.
  const channels = Array.from({ length: channelCount }, (_, channel) => subframe(bits, frames, sampleBits + (isSide(assignment, channel) ? 1 : 0), fileByte));
  bits.alignToByte();
  const end = bits.byteIndex;
  if (bits.unsigned(16) !== crc16(bytes, startByte, end)) damaged(fileByte, 'its checksum');
  joinSides(channels, assignment);
  return { channels, endByte: end + 2 };
}

const isSide = (assignment: number, channel: number): boolean => (assignment === 9 ? channel === 0 : (assignment === 8 || assignment === midSide) && channel === 1);

/** Left from left and difference, and so on, in place. */
function joinSides([first, second]: readonly Float64Array[], assignment: number): void {
  if (assignment < 8) return;
  for (let n = 0; n < first!.length; n += 1) {
    const [a, b] = [first![n]!, second![n]!];
    if (assignment === 8) second![n] = a - b;
    else if (assignment === 9) first![n] = a + b;
    else {
      // The middle has lost its last bit, which the difference still has.
      const sum = 2 * a + (Math.abs(b) % 2);
      first![n] = (sum + b) / 2;
      second![n] = (sum - b) / 2;
    }
  }
}

/** Number of the frame or of its first sample, coded in 1 to 7 bytes; not needed. */
function skipCodedNumber(bits: BitReader, fileByte: number): void {
  const first = bits.unsigned(8);
  const ones = Math.clz32(~(first << 24));
  if (ones === 1 || ones === 8) damaged(fileByte, 'a number of the frame');
  for (let k = 1; k < ones; k += 1) {
    if (bits.unsigned(8) >> 6 !== 2) damaged(fileByte, 'a number of the frame');
  }
}

function blockSize(bits: BitReader, code: number): number {
  if (code === 1) return 192;
  if (code <= 5) return 144 * powerOfTwo(code);
  if (code === 6) return bits.unsigned(8) + 1;
  if (code === 7) return bits.unsigned(16) + 1;
  return powerOfTwo(code);
}

function subframe(bits: BitReader, frames: number, sampleBits: number, fileByte: number): Float64Array {
  if (bits.unsigned(1) !== 0) damaged(fileByte, 'a part of a channel');
  const kind = bits.unsigned(6);
  const wasted = bits.unsigned(1) === 1 ? bits.zeros() + 1 : 0;
  const width = sampleBits - wasted;
  if (width < 1) damaged(fileByte, 'fewer unused bits than a sample has');
  const samples = new Float64Array(frames);
  if (kind === 0) samples.fill(bits.signed(width));
  else if (kind === 1) for (let n = 0; n < frames; n += 1) samples[n] = bits.signed(width);
  else if (kind >= 8 && kind <= 12) predicted(bits, samples, width, { order: kind - 8, fileByte, fixed: true });
  else if (kind >= 32) predicted(bits, samples, width, { order: kind - 31, fileByte, fixed: false });
  else damaged(fileByte, 'a kind of prediction in use');
  if (wasted > 0) for (let n = 0; n < frames; n += 1) samples[n]! *= powerOfTwo(wasted);
  return samples;
}

/** Of the fixed predictors, newest sample first. */
const fixedCoefficients: readonly (readonly number[])[] = [[], [1], [2, -1], [3, -3, 1], [4, -6, 4, -1]];

function predicted(bits: BitReader, samples: Float64Array, width: number, { order, fileByte, fixed }: { readonly order: number; readonly fileByte: number; readonly fixed: boolean }): void {
  if (order > samples.length) damaged(fileByte, 'a block longer than its prediction');
  for (let n = 0; n < order; n += 1) samples[n] = bits.signed(width);
  let coefficients = fixedCoefficients[order]!;
  let shift = 0;
  if (!fixed) {
    const precision = bits.unsigned(4) + 1;
    shift = bits.signed(5);
    if (precision === 16 || shift < 0) damaged(fileByte, 'a precision in use');
    coefficients = Array.from({ length: order }, () => bits.signed(precision));
  }
  residuals(bits, samples, order, fileByte);
  const scale = powerOfTwo(-shift);
  // Exact: at most 33 + 15 + 5 bits.
  for (let n = order; n < samples.length; n += 1) {
    let sum = 0;
    for (let k = 0; k < order; k += 1) sum += coefficients[k]! * samples[n - 1 - k]!;
    samples[n]! += Math.floor(sum * scale);
  }
}

/** What the prediction missed, Rice-coded in partitions, into `samples` from `order` on. */
function residuals(bits: BitReader, samples: Float64Array, order: number, fileByte: number): void {
  const method = bits.unsigned(2);
  if (method > 1) damaged(fileByte, 'a code in use');
  const parameterBits = method === 0 ? 4 : 5;
  const escape = method === 0 ? 15 : 31;
  const partitions = powerOfTwo(bits.unsigned(4));
  const length = samples.length / partitions;
  if (length !== Math.floor(length) || length < order) damaged(fileByte, 'partitions of whole samples');
  let n = order;
  for (let partition = 0; partition < partitions; partition += 1) {
    const end = (partition + 1) * length;
    const parameter = bits.unsigned(parameterBits);
    if (parameter === escape) {
      const width = bits.unsigned(5);
      for (; n < end; n += 1) samples[n] = bits.signed(width);
      continue;
    }
    const step = powerOfTwo(parameter);
    for (; n < end; n += 1) {
      const high = bits.zeros();
      const folded = high * step + bits.unsigned(parameter);
      samples[n] = folded % 2 === 0 ? folded / 2 : -(folded + 1) / 2;
    }
  }
}
