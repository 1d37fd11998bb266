/**
 * Samples from the audio thread to a worker that looks at them, through shared memory. One writer, one reader; the writer never waits, and the reader that falls behind loses the oldest.
 */

/** Frames the ring holds: 1.4 s at 48 kHz. */
export const ringFrames = 65_536;
/** Frames that the writer may be about to overwrite: a reader stays clear of them. */
const guardFrames = 4096;
/** 32-bit counters: frames written, stretches begun, channels of the present stretch, frames written when it began. */
const headerBytes = 16;
const [writtenAt, stretchAt, channelsAt, beganAt] = [0, 1, 2, 3] as const;

/** Of a ring for two channels. */
export const sampleRingBytes = headerBytes + 2 * ringFrames * 8;

function rings(memory: SharedArrayBuffer): readonly [Float64Array, Float64Array] {
  return [new Float64Array(memory, headerBytes, ringFrames), new Float64Array(memory, headerBytes + ringFrames * 8, ringFrames)];
}

/** Audio thread: allocates nothing, never waits. */
export class SampleRingWriter {
  readonly #counters: Int32Array;
  readonly #rings: readonly Float64Array[];
  #written = 0;
  #stretch = 0;

  constructor(memory: SharedArrayBuffer) {
    this.#counters = new Int32Array(memory, 0, 4);
    this.#rings = rings(memory);
  }

  /** What comes next does not join on to what came before. */
  begin(channels: number): void {
    this.#stretch = (this.#stretch + 1) | 0;
    Atomics.store(this.#counters, channelsAt, channels);
    Atomics.store(this.#counters, beganAt, this.#written);
    Atomics.store(this.#counters, stretchAt, this.#stretch);
  }

  write(channels: readonly Float64Array[], count: number, frames: number): void {
    const at = this.#written & (ringFrames - 1);
    for (let channel = 0; channel < count; channel += 1) {
      const ring = this.#rings[channel]!;
      const samples = channels[channel]!;
      for (let i = 0; i < frames; i += 1) ring[(at + i) & (ringFrames - 1)] = samples[i]!;
    }
    this.#written = (this.#written + frames) | 0;
    Atomics.store(this.#counters, writtenAt, this.#written);
  }
}

/** Takes what has come since it looked last. */
export class SampleRingReader {
  readonly #counters: Int32Array;
  readonly #rings: readonly Float64Array[];
  readonly #taken = [new Float64Array(ringFrames), new Float64Array(ringFrames)];
  #read = 0;
  #stretch = 0;

  constructor(memory: SharedArrayBuffer) {
    this.#counters = new Int32Array(memory, 0, 4);
    this.#rings = rings(memory);
  }

  /** `joined` false: a new stretch, or frames were lost. `channels` are used again; null: nothing new. */
  read(): { readonly channels: readonly Float64Array[]; readonly frames: number; readonly joined: boolean } | null {
    const stretch = Atomics.load(this.#counters, stretchAt);
    const written = Atomics.load(this.#counters, writtenAt);
    const began = Atomics.load(this.#counters, beganAt);
    const fresh = stretch !== this.#stretch;
    // What is left of the stretch before is of no use any more.
    const waiting = Math.min((written - this.#read) | 0, fresh ? (written - began) | 0 : Infinity);
    if (waiting <= 0) return null;
    const frames = Math.min(waiting, ringFrames - guardFrames);
    const joined = frames === waiting && !fresh;
    this.#stretch = stretch;
    const channels = this.#taken.slice(0, Atomics.load(this.#counters, channelsAt));
    const from = written - frames;
    channels.forEach((taken, channel) => {
      const ring = this.#rings[channel]!;
      for (let i = 0; i < frames; i += 1) taken[i] = ring[(from + i) & (ringFrames - 1)]!;
    });
    this.#read = written;
    return { channels, frames, joined };
  }
}
