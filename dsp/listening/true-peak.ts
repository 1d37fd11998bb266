import { ratioToDecibels, sin } from '../math/index.ts';

const oversampling = 4;
/** Input samples to each side of an interpolated instant: 24 taps a phase, twice the annex's 12. */
const halfTaps = 12;
const taps = 2 * halfTaps;
/** Kaiser window shape: about 80 dB of image suppression. */
const kaiserBeta = 8;

/** I0 by its power series Σ (x/2)^2k / k!², whose terms are all positive: full accuracy for the 0 ≤ x ≤ 8 used here. */
function besselI0(x: number): number {
  const quarterSquare = (x * x) / 4;
  let term = 1;
  let sum = 1;
  for (let k = 1; term > sum * 1e-17; k += 1) {
    term *= quarterSquare / (k * k);
    sum += term;
  }
  return sum;
}

/** Rows of 24 taps for the instants 1/4, 2/4 and 3/4 between two samples: windowed sinc, each row scaled to a gain of exactly one at DC. */
function interpolators(): readonly Float64Array[] {
  return [1, 2, 3].map((phase) => {
    const row = new Float64Array(taps);
    let sum = 0;
    for (let i = 0; i < taps; i += 1) {
      const distance = i - (halfTaps - 1) - phase / oversampling;
      const edge = distance / halfTaps;
      const sinc = sin(Math.PI * distance) / (Math.PI * distance);
      row[i] = sinc * besselI0(kaiserBeta * Math.sqrt(Math.max(0, 1 - edge * edge)));
      sum += row[i]!;
    }
    return row.map((tap) => tap / sum);
  });
}

/**
 * True peak: the largest magnitude of the signal four times oversampled, which sees most of what passes between samples.
 *
 * After Recommendation ITU-R BS.1770-5, Annex 2, with our own longer interpolator. Measured on sines up to 0.4 of the rate at every phase:
 * at most 0.01 dB too high (ripple) and 0.44 dB too low, the latter because a crest can lie an eighth of a sample away from the nearest
 * instant looked at, as the annex says of any fourfold meter (0.17 dB at a quarter of the rate).
 */
export class TruePeakMeter {
  private readonly rows = interpolators();
  private readonly histories: Float64Array[];
  private at = 0;
  private largest = 0;
  private largestSample = 0;

  constructor(channelCount: number) {
    // Each sample is written twice, a window apart, so that the last 24 always lie in one stretch.
    this.histories = Array.from({ length: channelCount }, () => new Float64Array(2 * taps));
  }

  /** Measures `frames` frames of every channel from `start` on. Allocates nothing. */
  push(channels: readonly Float64Array[], start: number, frames: number): void {
    let at = this.at;
    for (let channel = 0; channel < this.histories.length; channel += 1) {
      at = this.pushChannel(this.histories[channel]!, channels[channel]!, start, frames);
    }
    this.at = at;
  }

  /** Call once after the last push: looks at the instants that needed samples beyond the end, taken as 0. */
  finish(): void {
    const silence = new Float64Array(halfTaps);
    this.push(this.histories.map(() => silence), 0, halfTaps);
  }

  /** Largest interpolated or sampled magnitude so far; NaN or infinite if the signal was. */
  get peakRatio(): number {
    return this.largest;
  }

  get truePeakDb(): number {
    return ratioToDecibels(this.largest);
  }

  /** Largest sampled magnitude so far. */
  get samplePeakDb(): number {
    return ratioToDecibels(this.largestSample);
  }

  private pushChannel(history: Float64Array, input: Float64Array, start: number, frames: number): number {
    const quarter = this.rows[0]!;
    const half = this.rows[1]!;
    const threeQuarters = this.rows[2]!;
    let { at, largest, largestSample } = this;
    for (let i = start; i < start + frames; i += 1) {
      const sample = input[i]!;
      history[at] = sample;
      history[at + taps] = sample;
      at = at + 1 === taps ? 0 : at + 1;
      const magnitude = Math.abs(sample);
      if (!(magnitude <= largestSample)) largestSample = magnitude;
      if (!(magnitude <= largest)) largest = magnitude;
      let first = 0;
      let second = 0;
      let third = 0;
      for (let tap = 0; tap < taps; tap += 1) {
        const past = history[at + tap]!;
        first += quarter[tap]! * past;
        second += half[tap]! * past;
        third += threeQuarters[tap]! * past;
      }
      if (!(Math.abs(first) <= largest)) largest = Math.abs(first);
      if (!(Math.abs(second) <= largest)) largest = Math.abs(second);
      if (!(Math.abs(third) <= largest)) largest = Math.abs(third);
    }
    this.largest = largest;
    this.largestSample = largestSample;
    return at;
  }
}
