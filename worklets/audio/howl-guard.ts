import { cosineWindow, decibelsToRatio, RealFft, WINDOW_TERMS } from '../../dsp/math/index.ts';

const size = 1024;
const hop = size / 2;
/** A line takes this many bins on each side of its own, under the window. */
const skirtBins = 2;
const watchSeconds = 0.3;
/** Steps of the watch: the line must have risen in each. */
const steps = 3;
/** In each step of 100 ms: 20 dB a second. Music that swells so steadily for so long, on one frequency alone, at the limiter, is rare. */
const leastRiseDb = 2;
/** Share of all the sound that one line makes up. */
const leastShare = 0.7;
/** From here on a line that rises is watched: re the limiter's ceiling at the output, or re full scale at the input. */
const nearCeilingDb = -12;
/** A line that stands here for the whole watch has stopped growing only because limiter or converter hold it. */
const atCeilingDb = -3;

/**
 * Tells a howl in what goes to the monitor while a live input is heard. A howl is taken to be: one narrow line with most of the sound, near the limiter or with the input near full scale (a howl through a monitor that
 * is turned down ends there), that has either risen by 2 dB in each 100 ms of the last 300, or stood so through all of them. The figures are choices of this bench: common practice knows the sign (one
 * frequency that grows by itself), no source. A loud held sine is taken for a howl too. Audio thread: `take` allocates nothing, never throws; a transform of 1024 every 512 frames.
 */
export class HowlGuard {
  /** Of the howl that was told last. */
  frequencyHz = 0;
  readonly #rateHz: number;
  readonly #fft = new RealFft(size);
  readonly #window = cosineWindow(WINDOW_TERMS.hann, size);
  readonly #kept = new Float64Array(size);
  readonly #work = new Float64Array(size);
  readonly #re = new Float64Array(size / 2 + 1);
  readonly #im = new Float64Array(size / 2 + 1);
  /** Energies by bin of the last hops, the newest at `#newest`. */
  readonly #energies: readonly Float64Array[];
  /** Where the largest line was, hop by hop. */
  readonly #peaks: Int32Array;
  readonly #shares: Float64Array;
  readonly #inputPeaks: Float64Array;
  readonly #stepHops: number;
  readonly #peakEnergyAtCeiling: number;
  #inputPeak = 0;
  #filled = 0;
  #newest = 0;
  #hops = 0;

  /** `ceiling`: the limiter's, of full scale. */
  constructor(rateHz: number, ceiling: number) {
    this.#rateHz = rateHz;
    this.#stepHops = Math.max(1, Math.round((watchSeconds * rateHz) / (hop * steps)));
    const hops = this.#stepHops * steps + 1;
    this.#energies = Array.from({ length: hops }, () => new Float64Array(size / 2 + 1));
    this.#peaks = new Int32Array(hops);
    this.#shares = new Float64Array(hops);
    this.#inputPeaks = new Float64Array(hops);
    this.#peakEnergyAtCeiling = this.#lineEnergyOfSine(ceiling);
  }

  /** What goes to the monitor, block by block, and the largest magnitude that came in meanwhile; true as soon as it is a howl. */
  take(samples: Float64Array, frames: number, inputPeak: number): boolean {
    let howls = false;
    this.#inputPeak = Math.max(this.#inputPeak, inputPeak);
    for (let i = 0; i < frames; i += 1) {
      const sample = samples[i]!;
      this.#kept[hop + this.#filled] = sample - sample === 0 ? sample : 0;
      this.#filled += 1;
      if (this.#filled < hop) continue;
      this.#look();
      howls = this.#howls() || howls;
      this.#kept.copyWithin(0, hop);
      this.#filled = 0;
    }
    return howls;
  }

  /** Forgets what was. */
  reset(): void {
    this.#kept.fill(0);
    this.#inputPeak = 0;
    this.#filled = 0;
    this.#hops = 0;
  }

  #look(): void {
    const count = this.#peaks.length;
    this.#newest = (this.#newest + 1) % count;
    this.#hops += 1;
    this.#inputPeaks[this.#newest] = this.#inputPeak;
    this.#inputPeak = 0;
    const energies = this.#energies[this.#newest]!;
    for (let i = 0; i < size; i += 1) this.#work[i] = this.#kept[i]! * this.#window[i]!;
    this.#fft.forward(this.#work, this.#re, this.#im);
    let peak = 1;
    let all = 0;
    for (let bin = 0; bin < energies.length; bin += 1) {
      const energy = this.#re[bin]! * this.#re[bin]! + this.#im[bin]! * this.#im[bin]!;
      energies[bin] = energy;
      all += energy;
      if (bin > 0 && energy > energies[peak]!) peak = bin;
    }
    this.#peaks[this.#newest] = peak;
    this.#shares[this.#newest] = all > 0 ? lineAt(energies, peak) / all : 0;
  }

  #howls(): boolean {
    if (this.#hops < this.#peaks.length) return false;
    const peak = this.#peaks[this.#newest]!;
    if (this.#shares[this.#newest]! < leastShare || !this.#loud(0, peak, nearCeilingDb)) return false;
    if (!this.#rose(peak) && !this.#stood(peak)) return false;
    this.frequencyHz = (peak * this.#rateHz) / size;
    return true;
  }

  /** The line grew in each step, and was what dominated in the last of them. */
  #rose(peak: number): boolean {
    for (let step = 0; step < steps; step += 1) {
      if (this.#lineBack(step * this.#stepHops, peak) < this.#lineBack((step + 1) * this.#stepHops, peak) * energyRatio(leastRiseDb)) return false;
    }
    return this.#dominated(peak, this.#stepHops);
  }

  #stood(peak: number): boolean {
    for (let back = 0; back < this.#peaks.length; back += 1) if (!this.#loud(back, peak, atCeilingDb)) return false;
    return this.#dominated(peak, this.#peaks.length - 1);
  }

  #dominated(peak: number, hops: number): boolean {
    for (let back = 0; back <= hops; back += 1) {
      const at = this.#back(back);
      if (Math.abs(this.#peaks[at]! - peak) > 1 || this.#shares[at]! < leastShare) return false;
    }
    return true;
  }

  #loud(back: number, peak: number, db: number): boolean {
    return this.#lineBack(back, peak) >= this.#peakEnergyAtCeiling * energyRatio(db) || this.#inputPeaks[this.#back(back)]! >= decibelsToRatio(db);
  }

  #lineBack(back: number, peak: number): number {
    return lineAt(this.#energies[this.#back(back)]!, peak);
  }

  #back(hops: number): number {
    const count = this.#peaks.length;
    return (this.#newest - hops + count) % count;
  }

  /** Energy in the bins of a line of this peak, under the window, taken from the window's own. */
  #lineEnergyOfSine(peak: number): number {
    const work = new Float64Array(size);
    for (let i = 0; i < size; i += 1) work[i] = peak * this.#window[i]! * (i % 4 === 0 ? 1 : i % 4 === 2 ? -1 : 0);
    this.#fft.forward(work, this.#re, this.#im);
    const energies = new Float64Array(size / 2 + 1).map((_, bin) => this.#re[bin]! * this.#re[bin]! + this.#im[bin]! * this.#im[bin]!);
    return lineAt(energies, size / 4);
  }
}

function lineAt(energies: Float64Array, peak: number): number {
  let sum = 0;
  for (let bin = Math.max(0, peak - skirtBins); bin <= Math.min(energies.length - 1, peak + skirtBins); bin += 1) sum += energies[bin]!;
  return sum;
}

function energyRatio(db: number): number {
  return decibelsToRatio(db) * decibelsToRatio(db);
}
