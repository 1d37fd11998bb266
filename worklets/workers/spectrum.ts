// Spectrum worker: takes what plays from the audio thread and tells its spectrum, as often as it is wanted.
import * as Comlink from 'comlink';
import { spectrumPoints, SpectrumMeter, type SpectrumPoints, type SpectrumSettings } from '../../dsp/measure/index.ts';
import type { TappedSamples } from '../messages.ts';
import { SampleRingReader } from '../sample-ring.ts';

/** What is wanted of what plays; the number of channels is that of what comes. */
export type SpectrumWish = Omit<SpectrumSettings, 'channels'>;

/** Nothing new for so long: nothing plays. Longer than any gap between batches. */
const quietMilliseconds = 250;
/** A spectrum is told at most so often. */
const mostPerSecond = 30;

class SpectrumBench {
  #reader: SampleRingReader | null = null;
  #port: MessagePort | null = null;
  readonly #waiting: TappedSamples[] = [];
  #meter: SpectrumMeter | null = null;
  #wish: SpectrumWish | null = null;
  #tell: ((points: SpectrumPoints) => void) | null = null;
  #timer: ReturnType<typeof setInterval> | undefined;
  #lastSamples = -Infinity;
  #plays = false;
  #untold = false;

  /** Where samples come from: one of the two. Whatever was looked at before is let go. */
  connect(source: { readonly ring: SharedArrayBuffer | null; readonly port: MessagePort | null }): void {
    this.#disconnect();
    this.#reader = source.ring === null ? null : new SampleRingReader(source.ring);
    this.#port = source.port;
    if (this.#port) this.#port.onmessage = ({ data }: MessageEvent<TappedSamples>) => this.#waiting.push(data);
  }

  /** Begins a mean. `tell` hears of every change, at most `perSecond` times a second, and once where nothing plays. */
  start(wish: SpectrumWish, perSecond: number, tell: (points: SpectrumPoints) => void): void {
    this.stop();
    this.#wish = wish;
    this.#tell = tell;
    this.#meter = null;
    this.#untold = true;
    this.#timer = setInterval(() => this.#look(), 1000 / Math.min(mostPerSecond, perSecond));
  }

  stop(): void {
    clearInterval(this.#timer);
    this.#tell = null;
  }

  #look(): void {
    const now = performance.now();
    let transformed = false;
    for (let taken = this.#take(); taken !== null; taken = this.#take()) {
      this.#lastSamples = now;
      transformed = this.#push(taken.channels, taken.frames, taken.joined) || transformed;
    }
    const plays = now - this.#lastSamples < quietMilliseconds;
    if (!transformed && plays === this.#plays && !this.#untold) return;
    this.#plays = plays;
    this.#untold = false;
    this.#tell?.(spectrumPoints(this.#meterFor(this.#meter?.settings.channels ?? 1), plays ? 'playing' : 'stopped'));
  }

  #take(): { readonly channels: readonly Float64Array[]; readonly frames: number; readonly joined: boolean } | null {
    const batch = this.#waiting.shift();
    if (batch) return { ...batch, frames: batch.channels[0]!.length };
    return this.#reader?.read() ?? null;
  }

  #push(channels: readonly Float64Array[], frames: number, joined: boolean): boolean {
    const before = this.#meter;
    const meter = this.#meterFor(channels.length === 2 ? 2 : 1);
    // After a pause the mean begins anew, with what plays now; a gap by a slow worker only costs a transform.
    if (!joined && before === meter) {
      if (this.#plays) meter.skip();
      else meter.reset();
    }
    return meter.push(channels, frames);
  }

  #meterFor(channels: 1 | 2): SpectrumMeter {
    if (this.#meter?.settings.channels !== channels) this.#meter = new SpectrumMeter({ ...this.#wish!, channels });
    return this.#meter;
  }

  #disconnect(): void {
    this.#waiting.length = 0;
    this.#reader = null;
    this.#port?.close();
    this.#port = null;
  }
}

export type Spectrum = SpectrumBench;
Comlink.expose(new SpectrumBench());
