import { RecordingError } from './recording-error.ts';
import { highestRateHz, lowestRateHz, type SampleEncoding, type WavSamples } from './wav-format.ts';

const pcmTag = 1;
const floatTag = 3;
const extensibleTag = 0xfffe;
/** Bytes 2–15 of the sub-format identifier: xxxx0000-0010-8000-00AA00389B71 in the order of a file. */
const subFormatTail = [0x00, 0x00, 0x00, 0x00, 0x10, 0x00, 0x80, 0x00, 0x00, 0xaa, 0x00, 0x38, 0x9b, 0x71];

const fail = (what: string, expected: string, got: string | number): never => {
  throw new RecordingError(`fmt chunk: ${what}: expected ${expected}, got ${got}`);
};

function encodingOf(tag: number, containerBits: number): SampleEncoding {
  if (tag === pcmTag) {
    if (containerBits === 16) return 'pcm16';
    if (containerBits === 24) return 'pcm24';
    if (containerBits === 32) return 'pcm32';
    return fail('bits per PCM sample', '16, 24 or 32', containerBits);
  }
  if (tag === floatTag) {
    if (containerBits === 32) return 'float32';
    if (containerBits === 64) return 'float64';
    return fail('bits per floating-point sample', '32 or 64', containerBits);
  }
  return fail('format tag', '1 (PCM), 3 (float) or 0xFFFE (extensible)', `0x${tag.toString(16).toUpperCase().padStart(4, '0')}`);
}

/**
 * Reads the body of a "fmt " chunk.
 *
 * Of an extensible format the container decides: fewer valid bits than it holds lie at its top, so that the same division decodes them.
 * The speaker mask is not read: one channel is mono, two are left and right. Throws RecordingError.
 */
export function parseFormatChunk(view: DataView): WavSamples {
  if (view.byteLength < 16) fail('size', 'at least 16 bytes', view.byteLength);
  let tag = view.getUint16(0, true);
  const channelCount = view.getUint16(2, true);
  const rateHz = view.getUint32(4, true);
  const blockBytes = view.getUint16(12, true);
  const containerBits = view.getUint16(14, true);
  if (tag === extensibleTag) {
    if (view.byteLength < 40) fail('size of an extensible format', 'at least 40 bytes', view.byteLength);
    const validBits = view.getUint16(18, true);
    if (validBits > containerBits) fail('valid bits per sample', `at most ${containerBits}`, validBits);
    if (subFormatTail.some((byte, i) => view.getUint8(26 + i) !== byte)) fail('extensible sub-format', 'PCM or float', 'another');
    tag = view.getUint16(24, true);
  }
  const encoding = encodingOf(tag, containerBits);
  if (channelCount !== 1 && channelCount !== 2) return fail('channels', '1 or 2', channelCount);
  if (rateHz < lowestRateHz || rateHz > highestRateHz) fail('sample rate', `${lowestRateHz} to ${highestRateHz} Hz`, `${rateHz} Hz`);
  const expectedBlock = (channelCount * containerBits) / 8;
  if (blockBytes !== expectedBlock) fail('bytes per frame', String(expectedBlock), blockBytes);
  return { encoding, channelCount, rateHz };
}
