// Live-input worker: keeps the last half minute of what comes in, and finds the way from output to input.
import * as Comlink from 'comlink';
import { findLoopbackDelay, type LoopbackFinding, type LoopbackProbe } from '../../dsp/measure/index.ts';
import { designLadder, type LadderFactor, type LadderKind } from '../../dsp/resampling/index.ts';
import { KeptInput } from '../kept-input.ts';
import type { TappedSamples } from '../messages.ts';
import { SampleRingReader } from '../sample-ring.ts';

/** Often enough that the ring on shared memory, 1.4 s long, is never lapped. */
const lookMilliseconds = 100;

/** What came in since it was told last. */
export interface InputReading {
  readonly heldSeconds: number;
  /** Largest magnitude of full scale; 0 where nothing came. */
  readonly peak: number;
}

class LiveInputKeeper {
  #kept: KeptInput | null = null;
  #reader: SampleRingReader | null = null;
  #port: MessagePort | null = null;
  #timer: ReturnType<typeof setInterval> | undefined;

  /** Where samples come from, one of the two; what was kept before is let go. `tell` hears ten times a second. */
  connect(rateHz: number, source: { readonly ring: SharedArrayBuffer | null; readonly port: MessagePort | null }, tell: (reading: InputReading) => void): void {
    this.disconnect();
    const kept = new KeptInput(rateHz);
    const reader = source.ring === null ? null : new SampleRingReader(source.ring);
    this.#kept = kept;
    this.#reader = reader;
    this.#port = source.port;
    if (this.#port) this.#port.onmessage = ({ data }: MessageEvent<TappedSamples>) => kept.push(data.channels, data.channels[0]!.length, data.joined);
    this.#timer = setInterval(() => {
      this.#look();
      tell({ heldSeconds: kept.heldSeconds, peak: kept.takePeak() });
    }, lookMilliseconds);
  }

  /** The last seconds of what came in; null where nothing is held. */
  last(seconds: number): Float64Array[] | null {
    this.#look();
    const channels = this.#kept?.last(seconds) ?? null;
    return channels && Comlink.transfer(channels, channels.map(({ buffer }) => buffer));
  }

  disconnect(): void {
    clearInterval(this.#timer);
    this.#kept = null;
    this.#reader = null;
    this.#port?.close();
    this.#port = null;
  }

  findDelay(recording: Float64Array, probe: LoopbackProbe, peak: number): LoopbackFinding {
    return findLoopbackDelay(recording, probe, peak);
  }

  /** Delay of a path in base frames: that of its ladder. */
  pathFrames(baseRateHz: number, factor: LadderFactor, ladder: LadderKind): number {
    return designLadder(baseRateHz, factor, ladder).latencyBaseFrames;
  }

  #look(): void {
    for (let taken = this.#reader?.read() ?? null; taken !== null; taken = this.#reader!.read()) this.#kept!.push(taken.channels, taken.frames, taken.joined);
  }
}

export type LiveInputKeeping = LiveInputKeeper;
Comlink.expose(new LiveInputKeeper());
