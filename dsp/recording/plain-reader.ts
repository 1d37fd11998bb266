import { RecordingError } from './recording-error.ts';
import type { Landmark, RecordingReader } from './recording-reader.ts';
import { decodeSamples } from './sample-codec.ts';
import { frameBytes, sampleBytes, type WavFormat } from './wav-format.ts';

/** Finds the first sample of a file whose samples lie one after the other. */
export interface PlainScanner<Format extends WavFormat> {
  readonly format: Format | null;
  /** Takes bytes from `start` on; gives the index of the first byte not taken. */
  push(bytes: Uint8Array, start: number): number;
  /** The error of a file that ends before its samples. */
  truncated(): RecordingError;
}

/** A file of plain samples, whatever its header. What follows the samples is passed over. */
export class PlainReader<Format extends WavFormat> implements RecordingReader {
  readonly #scanner: PlainScanner<Format>;
  /** What its samples are called in errors: "data chunk". */
  readonly #samplesName: string;
  readonly #isBigEndian: (format: Format) => boolean;
  #pending: Uint8Array = new Uint8Array(0);
  #framesRead = 0;

  constructor(scanner: PlainScanner<Format>, samplesName: string, isBigEndian: (format: Format) => boolean) {
    this.#scanner = scanner;
    this.#samplesName = samplesName;
    this.#isBigEndian = isBigEndian;
  }

  get format(): Format | null {
    return this.#scanner.format;
  }

  get landmark(): Landmark | null {
    const { format } = this;
    return format && { frame: this.#framesRead, byte: format.dataOffsetBytes + this.#framesRead * frameBytes(format) };
  }

  push(bytes: Uint8Array): void {
    const start = this.#scanner.format === null ? this.#scanner.push(bytes, 0) : 0;
    const fresh = bytes.subarray(start);
    if (this.#pending.length === 0) {
      this.#pending = fresh;
      return;
    }
    const joined = new Uint8Array(this.#pending.length + fresh.length);
    joined.set(this.#pending);
    joined.set(fresh, this.#pending.length);
    this.#pending = joined;
  }

  read(output: readonly Float64Array[], outputFrame: number, frames: number): number {
    const format = this.#scanner.format;
    if (format === null) return 0;
    const stride = frameBytes(format);
    const left = format.frameCount === null ? Infinity : format.frameCount - this.#framesRead;
    const count = Math.min(frames, left, Math.floor(this.#pending.length / stride));
    const taken = this.#pending.subarray(0, count * stride);
    decodeSamples(format, this.#isBigEndian(format) ? turnedRound(taken, sampleBytes(format.encoding)) : taken, 0, output, outputFrame, count);
    this.#framesRead += count;
    if (this.#framesRead === format.frameCount) this.#pending = new Uint8Array(0);
    else this.#pending = this.#pending.length - count * stride < stride ? this.#pending.slice(count * stride) : this.#pending.subarray(count * stride);
    return count;
  }

  finish(): Format {
    const format = this.#scanner.format;
    if (format === null) throw this.#scanner.truncated();
    const stride = frameBytes(format);
    if (format.frameCount !== null && this.#framesRead < format.frameCount) {
      const whole = this.#framesRead + Math.floor(this.#pending.length / stride);
      throw new RecordingError(`${this.#samplesName}: expected ${format.frameCount} frames, the file ends after ${whole}`);
    }
    if (this.#pending.length > 0) throw new RecordingError(`${this.#samplesName}: expected whole frames of ${stride} bytes, the file ends ${this.#pending.length} bytes into one`);
    return format;
  }
}

/** Each sample's bytes in the other order. */
function turnedRound(bytes: Uint8Array, size: number): Uint8Array {
  const turned = new Uint8Array(bytes.length);
  for (let at = 0; at < bytes.length; at += size) {
    for (let k = 0; k < size; k += 1) turned[at + k] = bytes[at + size - 1 - k]!;
  }
  return turned;
}
