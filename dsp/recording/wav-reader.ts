import { HeaderScanner } from './header-scanner.ts';
import { RecordingError } from './recording-error.ts';
import { decodeSamples } from './sample-codec.ts';
import { frameBytes, type WavFormat } from './wav-format.ts';

/** A header, or the word that its bytes go on. */
export type WavHeader = { readonly kind: 'format'; readonly format: WavFormat } | { readonly kind: 'need-more' };

/** Reads the header at the start of a file from however many of its bytes are there. Throws RecordingError on a foreign file. */
export function parseWavHeader(bytes: Uint8Array): WavHeader {
  const scanner = new HeaderScanner();
  scanner.push(bytes, 0);
  return scanner.format === null ? { kind: 'need-more' } : { kind: 'format', format: scanner.format };
}

/**
 * Reads a WAV file in pieces of any size: `push` a piece, `read` until it gives 0, and so on; `finish` at the end of the file.
 *
 * Between pushes it holds less than one frame, if read is called until it gives 0. What follows the samples is passed over.
 */
export class WavReader {
  private readonly scanner = new HeaderScanner();
  private pending: Uint8Array = new Uint8Array(0);
  private framesRead = 0;

  /** Null until the header is complete. */
  get format(): WavFormat | null {
    return this.scanner.format;
  }

  /** Takes the next bytes of the file; they may be reused afterwards only once `read` has given 0. Throws RecordingError on a foreign header. */
  push(bytes: Uint8Array): void {
    const start = this.scanner.format === null ? this.scanner.push(bytes, 0) : 0;
    const fresh = bytes.subarray(start);
    if (this.pending.length === 0) {
      this.pending = fresh;
      return;
    }
    const joined = new Uint8Array(this.pending.length + fresh.length);
    joined.set(this.pending);
    joined.set(fresh, this.pending.length);
    this.pending = joined;
  }

  /** Decodes up to `frames` frames into `output` (one array a channel) from `outputFrame` on; gives how many there were. */
  read(output: readonly Float64Array[], outputFrame: number, frames: number): number {
    const format = this.scanner.format;
    if (format === null) return 0;
    const stride = frameBytes(format);
    const left = format.frameCount === null ? Infinity : format.frameCount - this.framesRead;
    const count = Math.min(frames, left, Math.floor(this.pending.length / stride));
    decodeSamples(format, this.pending, 0, output, outputFrame, count);
    this.framesRead += count;
    if (this.framesRead === format.frameCount) this.pending = new Uint8Array(0);
    else this.pending = this.pending.length - count * stride < stride ? this.pending.slice(count * stride) : this.pending.subarray(count * stride);
    return count;
  }

  /** Call at the end of the file, after the last read. Throws RecordingError where the file is shorter than it says; gives its format. */
  finish(): WavFormat {
    const format = this.scanner.format;
    if (format === null) throw this.scanner.truncated();
    const stride = frameBytes(format);
    if (format.frameCount !== null && this.framesRead < format.frameCount) {
      const whole = this.framesRead + Math.floor(this.pending.length / stride);
      throw new RecordingError(`data chunk: expected ${format.frameCount} frames, the file ends after ${whole}`);
    }
    if (this.pending.length > 0) throw new RecordingError(`data chunk: expected whole frames of ${stride} bytes, the file ends ${this.pending.length} bytes into one`);
    return format;
  }
}

/** A whole recording in memory: one array a channel, full scale ±1. */
export interface Recording {
  readonly format: WavFormat;
  readonly channels: readonly Float64Array[];
}

/** Reads a file that is wholly in memory. Throws RecordingError. */
export function parseWholeWav(bytes: Uint8Array): Recording {
  const reader = new WavReader();
  reader.push(bytes);
  const format = reader.format ?? reader.finish();
  const available = Math.floor((bytes.length - format.dataOffsetBytes) / frameBytes(format));
  const frames = Math.min(format.frameCount ?? available, available);
  const channels = Array.from({ length: format.channelCount }, () => new Float64Array(frames));
  reader.read(channels, 0, frames);
  reader.finish();
  return { format, channels };
}
