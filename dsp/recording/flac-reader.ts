/** FLAC in pieces of any size. Source: RFC 9639, 2024 (from memory). Ends a file's samples exactly where its first block says; every frame's checksum is looked at. */
import { powerOfTwo } from '../math/index.ts';
import { OutOfBytes } from './bit-reader.ts';
import { decodeFlacFrame, type FlacStream } from './flac-frame.ts';
import { RecordingError } from './recording-error.ts';
import type { Landmark, RecordingReader } from './recording-reader.ts';
import { highestRateHz, lowestRateHz, type RecordingFormat } from './wav-format.ts';

const markBytes = 4;
const blockHeaderBytes = 4;
const streamInfoBytes = 34;
/** No frame of 65,535 samples and two channels is longer. */
const longestFrameBytes = 1 << 20;

const fail = (what: string, expected: string, got: string | number): never => {
  throw new RecordingError(`FLAC stream information: ${what}: expected ${expected}, got ${got}`);
};

export class FlacReader implements RecordingReader {
  format: RecordingFormat | null = null;
  #stream: FlacStream | null = null;
  /** Samples begin: all metadata is passed. */
  #metadataEnded = false;
  #pending: Uint8Array = new Uint8Array(0);
  /** Of the first pending byte, in the file. */
  #position = 0;
  /** Left of the metadata block that is passed over, and whether it is the last. */
  #skipBytes = 0;
  #isLastBlock = false;
  #marked = false;
  #block: readonly Float64Array[] | null = null;
  #blockFrame = 0;
  #framesRead = 0;

  /** Before the next block. */
  get landmark(): Landmark | null {
    if (!this.#metadataEnded) return null;
    return { frame: this.#framesRead + (this.#block === null ? 0 : this.#block[0]!.length - this.#blockFrame), byte: this.#position };
  }

  push(bytes: Uint8Array): void {
    const joined = new Uint8Array(this.#pending.length + bytes.length);
    joined.set(this.#pending);
    joined.set(bytes, this.#pending.length);
    this.#pending = joined;
    while (!this.#metadataEnded && this.#takeMetadata());
  }

  read(output: readonly Float64Array[], outputFrame: number, frames: number): number {
    const scale = this.#stream === null ? 1 : powerOfTwo(1 - this.#stream.bits);
    let given = 0;
    while (given < frames) {
      if (this.#block === null && !this.#nextBlock()) break;
      const block = this.#block!;
      const length = block[0]!.length;
      const count = Math.min(frames - given, length - this.#blockFrame);
      block.forEach((samples, channel) => {
        const out = output[channel]!;
        for (let k = 0; k < count; k += 1) out[outputFrame + given + k] = samples[this.#blockFrame + k]! * scale;
      });
      given += count;
      this.#framesRead += count;
      this.#blockFrame += count;
      if (this.#blockFrame === length) this.#block = null;
    }
    return given;
  }

  finish(): RecordingFormat {
    if (this.format === null) throw new RecordingError(`byte ${this.#position}: expected the stream information of a FLAC file, the file ends here`);
    const { frameCount } = this.format;
    if (frameCount !== null && this.#framesRead < frameCount) throw new RecordingError(`FLAC frames: expected ${frameCount} samples a channel, the file ends after ${this.#framesRead}`);
    if (frameCount === null && this.#pending.length > 0) throw new RecordingError(`byte ${this.#position}: expected a whole FLAC frame, the file ends inside it`);
    return this.format;
  }

  /** False: more bytes are needed. */
  #takeMetadata(): boolean {
    if (this.#skipBytes > 0) {
      const step = Math.min(this.#skipBytes, this.#pending.length);
      this.#drop(step);
      this.#skipBytes -= step;
      this.#metadataEnded = this.#isLastBlock && this.#skipBytes === 0;
      return this.#skipBytes === 0;
    }
    if (!this.#marked) {
      if (this.#pending.length < markBytes) return false;
      if (String.fromCharCode(...this.#pending.subarray(0, markBytes)) !== 'fLaC') throw new RecordingError('header: expected a FLAC file to begin with "fLaC"');
      this.#drop(markBytes);
      this.#marked = true;
      return true;
    }
    if (this.#pending.length < blockHeaderBytes) return false;
    const kind = this.#pending[0]! & 0x7f;
    const size = this.#pending[1]! * 65_536 + this.#pending[2]! * 256 + this.#pending[3]!;
    const isLast = this.#pending[0]! >= 0x80;
    if (this.#stream === null) {
      if (kind !== 0 || size !== streamInfoBytes) throw new RecordingError(`FLAC metadata: expected the stream information of ${streamInfoBytes} bytes first, got block ${kind} of ${size} bytes`);
      if (this.#pending.length < blockHeaderBytes + streamInfoBytes) return false;
      this.#takeStreamInfo(this.#pending.subarray(blockHeaderBytes, blockHeaderBytes + streamInfoBytes));
    } else if (kind === 127) throw new RecordingError(`byte ${this.#position}: expected a block of FLAC metadata, got one of no kind`);
    this.#drop(blockHeaderBytes);
    this.#skipBytes = size;
    this.#isLastBlock = isLast;
    this.#metadataEnded = isLast && size === 0;
    return true;
  }

  #takeStreamInfo(bytes: Uint8Array): void {
    const rateHz = bytes[10]! * 4096 + bytes[11]! * 16 + (bytes[12]! >> 4);
    const channelCount = ((bytes[12]! >> 1) & 7) + 1;
    const bits = (bytes[12]! & 1) * 16 + (bytes[13]! >> 4) + 1;
    const total = (bytes[13]! & 15) * 4_294_967_296 + bytes[14]! * 16_777_216 + bytes[15]! * 65_536 + bytes[16]! * 256 + bytes[17]!;
    if (channelCount !== 1 && channelCount !== 2) return fail('channels', '1 or 2', channelCount);
    if (rateHz < lowestRateHz || rateHz > highestRateHz) fail('sample rate', `${lowestRateHz} to ${highestRateHz} Hz`, `${rateHz} Hz`);
    if (bits < 4) fail('bits per sample', '4 to 32', bits);
    this.#stream = { rateHz, channelCount, bits };
    this.format = { container: 'FLAC', encoding: bits <= 16 ? 'pcm16' : bits <= 24 ? 'pcm24' : 'pcm32', channelCount, rateHz, frameCount: total === 0 ? null : total };
  }

  /** Decodes the next frame; false: not all of it is there. */
  #nextBlock(): boolean {
    const stream = this.#stream;
    const isWhole = this.#framesRead === this.format?.frameCount;
    if (stream === null || !this.#metadataEnded || isWhole || this.#pending.length === 0) return false;
    try {
      const { channels, endByte } = decodeFlacFrame(this.#pending, 0, this.#position, stream);
      this.#drop(endByte);
      this.#block = channels;
      this.#blockFrame = 0;
      return true;
    } catch (error) {
      if (!(error instanceof OutOfBytes)) throw error;
      if (this.#pending.length < longestFrameBytes) return false;
      throw new RecordingError(`FLAC frame at byte ${this.#position}: expected at most ${longestFrameBytes} bytes; the file is damaged`);
    }
  }

  #drop(count: number): void {
    this.#pending = this.#pending.subarray(count);
    this.#position += count;
  }
}
