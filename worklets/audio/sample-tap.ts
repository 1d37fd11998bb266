import type { TapPlace, TapRequest, TappedSamples } from '../messages.ts';
import { SampleRingWriter } from '../sample-ring.ts';

/** Without shared memory samples go by message, at most this often. */
const messagesPerSecond = 30;

/**
 * Hands on what plays, in samples of full scale, to whoever looks at its spectrum. Audio thread: `take` and `pause` allocate nothing (but for the messages they post where there is no shared
 * memory), never throw or wait.
 */
export class SampleTap {
  readonly #place: TapPlace;
  readonly #ring: SampleRingWriter | null;
  readonly #port: MessagePort | null;
  readonly #batch: readonly [Float64Array, Float64Array];
  readonly #batchFrames: number;
  #batched = 0;
  #channels = 0;
  #begins = true;

  /** `longestBlock`: frames that `take` is called with at most. */
  constructor({ place, ring, port }: TapRequest, rateHz: number, longestBlock: number) {
    this.#place = place;
    this.#ring = ring === null ? null : new SampleRingWriter(ring);
    this.#port = port;
    this.#batchFrames = ring === null ? Math.ceil(rateHz / messagesPerSecond) : 0;
    this.#batch = [new Float64Array(this.#batchFrames + longestBlock), new Float64Array(this.#batchFrames + longestBlock)];
  }

  take(inputs: readonly Float64Array[], outputs: readonly Float64Array[], channels: number, frames: number): void {
    if (channels !== this.#channels) this.pause();
    this.#channels = channels;
    const samples = this.#place === 'input' ? inputs : outputs;
    if (this.#ring !== null) {
      if (this.#begins) this.#ring.begin(channels);
      this.#begins = false;
      this.#ring.write(samples, channels, frames);
      return;
    }
    for (let channel = 0; channel < channels; channel += 1) {
      const batch = this.#batch[channel]!;
      const from = samples[channel]!;
      for (let i = 0; i < frames; i += 1) batch[this.#batched + i] = from[i]!;
    }
    this.#batched += frames;
    if (this.#batched >= this.#batchFrames) this.#post();
  }

  /** Nothing plays, or not what played: what comes next does not join on. */
  pause(): void {
    this.#begins = true;
    this.#batched = 0;
  }

  #post(): void {
    const frames = this.#batched;
    const channels = this.#channels === 2 ? [this.#batch[0].slice(0, frames), this.#batch[1].slice(0, frames)] : [this.#batch[0].slice(0, frames)];
    this.#port?.postMessage({ channels, joined: !this.#begins } satisfies TappedSamples);
    this.#begins = false;
    this.#batched = 0;
  }

  close(): void {
    this.#port?.close();
  }
}
