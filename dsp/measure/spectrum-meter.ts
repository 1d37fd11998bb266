/** The spectrum of what comes in, block after block: windows, averaging, held peaks. */
import { coherentGain, cosineWindow, noiseBandwidthBins, RealFft, WINDOW_TERMS } from '../math/index.ts';

export const spectrumSizes = [1024, 2048, 4096, 8192, 16_384, 32_768, 65_536] as const;

/** How far apart transforms of each window begin, as a share of its length: no sample is left out and neighbours still differ. */
const hops = { rectangular: 1, hann: 1 / 2, 'blackman-harris': 1 / 4, 'flat-top': 1 / 4 } as const;
export type SpectrumWindow = keyof typeof hops;
export const spectrumWindows = Object.keys(hops) as readonly SpectrumWindow[];

/** Terms of the cosine sum by name: `WINDOW_TERMS` says whose they are. */
export const spectrumWindowTerms: Readonly<Record<SpectrumWindow, readonly number[]>> = {
  rectangular: WINDOW_TERMS.rectangular, hann: WINDOW_TERMS.hann, 'blackman-harris': WINDOW_TERMS.blackmanHarris, 'flat-top': WINDOW_TERMS.flatTop90,
};

/** Mean of powers: of the newest transform alone, with weights that fall from the newest on, of everything since the last reset. */
export type SpectrumAveraging = 'none' | 'exponential' | 'linear';

export interface SpectrumSettings {
  readonly rateHz: number;
  readonly size: (typeof spectrumSizes)[number];
  readonly window: SpectrumWindow;
  readonly averaging: SpectrumAveraging;
  /** Of 'exponential': each transform weighs one in so many, the first ones more, so that the mean is one from the start. */
  readonly averages: number;
  /** Their powers are averaged. */
  readonly channels: 1 | 2;
}

/**
 * Power spectrum of a stream. A line's power is the square of the peak that a sine on it has, 1 for a sample of 1; at 0 Hz and at half the rate the square of the level there.
 * All room is made at construction; `push` allocates nothing and its order of operations is fixed. Not for the audio thread: a transform of 65,536 takes milliseconds.
 */
export class SpectrumMeter {
  readonly settings: SpectrumSettings;
  /** Mean powers, size/2 + 1; 0 before the first transform. */
  readonly powers: Float64Array;
  /** The largest single power of each line since the last reset. */
  readonly held: Float64Array;
  /** Transforms since the last reset. */
  count = 0;
  /** Equivalent noise bandwidth: a density is power over it. */
  readonly noiseBandwidthHz: number;
  readonly spacingHz: number;
  readonly #fft: RealFft;
  readonly #window: Float64Array;
  readonly #scale: number;
  readonly #rings: readonly Float64Array[];
  readonly #piece: Float64Array;
  readonly #re: Float64Array;
  readonly #im: Float64Array;
  readonly #newest: Float64Array;
  readonly #hopFrames: number;
  #at = 0;
  #untilNext: number;

  constructor(settings: SpectrumSettings) {
    const { size, window, rateHz, channels } = settings;
    this.settings = settings;
    const lines = size / 2 + 1;
    this.#fft = new RealFft(size);
    this.#window = cosineWindow(spectrumWindowTerms[window], size);
    // A sine's two lines, each half of its peak.
    this.#scale = 2 / (size * coherentGain(this.#window));
    this.spacingHz = rateHz / size;
    this.noiseBandwidthHz = noiseBandwidthBins(this.#window) * this.spacingHz;
    this.#rings = Array.from({ length: channels }, () => new Float64Array(size));
    this.#piece = new Float64Array(size);
    this.#re = new Float64Array(lines);
    this.#im = new Float64Array(lines);
    this.#newest = new Float64Array(lines);
    this.powers = new Float64Array(lines);
    this.held = new Float64Array(lines);
    this.#hopFrames = Math.round(size * hops[window]);
    this.#untilNext = size;
  }

  /** Takes a block of any length; true when there is another transform in the mean. One array a channel. */
  push(channels: readonly Float64Array[], frames: number): boolean {
    const { size } = this.settings;
    let transformed = false;
    let done = 0;
    while (done < frames) {
      const count = Math.min(frames - done, this.#untilNext, size - this.#at);
      for (let channel = 0; channel < this.#rings.length; channel += 1) {
        const ring = this.#rings[channel]!;
        const samples = channels[channel]!;
        for (let i = 0; i < count; i += 1) ring[this.#at + i] = samples[done + i]!;
      }
      done += count;
      this.#at = (this.#at + count) % size;
      this.#untilNext -= count;
      if (this.#untilNext === 0) {
        this.#untilNext = this.#hopFrames;
        this.#transform();
        transformed = true;
      }
    }
    return transformed;
  }

  /** Means and held peaks begin anew; what has come in stays. */
  restart(): void {
    this.count = 0;
    this.powers.fill(0);
    this.held.fill(0);
  }

  /** Something was lost: what comes next is not joined to what came before; the mean goes on. */
  skip(): void {
    this.#at = 0;
    this.#untilNext = this.settings.size;
  }

  /** As new: what comes next is not joined to what came before. */
  reset(): void {
    this.restart();
    this.skip();
  }

  #transform(): void {
    const { size, averaging, averages } = this.settings;
    const newest = this.#newest.fill(0);
    const last = size / 2;
    for (const ring of this.#rings) {
      for (let i = 0; i < size; i += 1) {
        const at = this.#at + i;
        this.#piece[i] = this.#window[i]! * ring[at < size ? at : at - size]!;
      }
      this.#fft.forward(this.#piece, this.#re, this.#im);
      const square = (this.#scale * this.#scale) / this.#rings.length;
      for (let line = 0; line <= last; line += 1) {
        const power = square * (this.#re[line]! * this.#re[line]! + this.#im[line]! * this.#im[line]!);
        // Lines that have no mirror image are not halves.
        newest[line] = newest[line]! + (line === 0 || line === last ? power / 4 : power);
      }
    }
    this.count += 1;
    const share = averaging === 'none' ? 1 : averaging === 'linear' ? 1 / this.count : Math.max(1 / this.count, 1 / averages);
    for (let line = 0; line <= last; line += 1) {
      this.powers[line] = this.powers[line]! + share * (newest[line]! - this.powers[line]!);
      if (newest[line]! > this.held[line]!) this.held[line] = newest[line]!;
    }
  }
}
