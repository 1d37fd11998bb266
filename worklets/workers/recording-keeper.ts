/** Passes through files, keeps where things are in them, and brings stretches into memory. */
import { transfer } from 'comlink';
import { OverviewMaker, type Overview, type SampleEncoding } from '../../dsp/recording/index.ts';
import { atMostEvery } from './at-most-every.ts';
import { passThrough, readStretch, sha256Of, type FileBytes, type PassedRecording } from './recording-file.ts';
import type { JobControl } from './slices.ts';

/** A recording that was passed through; its key is asked for with stretches. */
export interface KnownRecording {
  readonly key: number;
  readonly rateHz: number;
  readonly channels: 1 | 2;
  readonly encoding: SampleEncoding;
  readonly sha256: string;
  readonly overview: Overview;
}

const progressMilliseconds = 250;

type Kept =
  | { readonly kind: 'file'; readonly file: FileBytes; readonly passed: PassedRecording }
  | { readonly kind: 'samples'; readonly channels: readonly Float32Array[] };

export class RecordingKeeper {
  readonly #kept = new Map<number, Kept>();
  #keys = 0;
  /** Under way, by number: one does not end another. */
  readonly #passages = new Map<number, JobControl>();
  #stretching: JobControl | null = null;

  /** From the first to the last byte. `passage`: number by which it is given up. `tell` gets the share done at most every 250 ms. Null when given up. Rejects with a RecordingError. */
  async pass(passage: number, file: FileBytes, tell: (done: number) => void): Promise<KnownRecording | null> {
    const control: JobControl = { cancelled: false };
    this.#passages.set(passage, control);
    try {
      const passed = await passThrough(file, control, atMostEvery(progressMilliseconds, tell));
      if (!passed) return null;
      const { rateHz, channelCount, encoding } = passed.format;
      const key = this.#keep({ kind: 'file', file, passed });
      return { key, rateHz, channels: channelCount, encoding, sha256: passed.sha256, overview: passed.overview };
    } finally {
      this.#passages.delete(passage);
    }
  }

  /** Samples that were decoded elsewhere, of the file whose checksum they carry. */
  async take(file: Blob, channels: readonly Float32Array[], rateHz: number): Promise<KnownRecording> {
    const overview = new OverviewMaker();
    overview.take(channels, channels[0]!.length);
    const key = this.#keep({ kind: 'samples', channels });
    return { key, rateHz, channels: channels.length === 2 ? 2 : 1, encoding: 'pcm24', sha256: await sha256Of(file), overview: overview.finish() };
  }

  giveUp(passage: number): void {
    const control = this.#passages.get(passage);
    if (control) control.cancelled = true;
  }

  forget(key: number): void {
    this.#kept.delete(key);
  }

  /** Frames in memory, shared where the page may share it, times `gain`; a newer call ends an older one, which gives null. */
  async stretch(key: number, firstFrame: number, frames: number, gain: number): Promise<Float64Array[] | null> {
    if (this.#stretching) this.#stretching.cancelled = true;
    const control: JobControl = { cancelled: false };
    this.#stretching = control;
    const kept = this.#kept.get(key);
    if (!kept) throw new Error('the recording is no longer known');
    const count = kept.kind === 'samples' ? kept.channels.length : kept.passed.format.channelCount;
    const output = Array.from({ length: count }, () => memoryFor(frames));
    if (kept.kind === 'file') {
      const whole = await readStretch(kept.file, kept.passed, firstFrame, gain, output, control);
      if (control.cancelled) return null;
      if (!whole) throw new Error('the file has changed since it was opened: open it again');
    } else {
      output.forEach((samples, channel) => {
        const from = kept.channels[channel]!;
        for (let i = 0; i < frames; i += 1) samples[i] = gain * from[firstFrame + i]!;
      });
    }
    return globalThis.crossOriginIsolated ? output : transfer(output, output.map(({ buffer }) => buffer));
  }

  #keep(kept: Kept): number {
    this.#keys += 1;
    this.#kept.set(this.#keys, kept);
    return this.#keys;
  }
}

function memoryFor(frames: number): Float64Array<ArrayBuffer> {
  const bytes = 8 * frames;
  // Shared memory does not say so in this type, and nothing here minds.
  return new Float64Array((globalThis.crossOriginIsolated ? new SharedArrayBuffer(bytes) : new ArrayBuffer(bytes)) as ArrayBuffer);
}
