/** What a loop holds by frequency over its whole length: the long-term spectrum behind an equaliser's curve. */
import { cosineWindow, pow10, ratioToDecibels, RealFft, WINDOW_TERMS } from '../math/index.ts';

/** Mean power of a band. */
export interface SpectrumBand {
  readonly fromHz: number;
  readonly toHz: number;
  readonly centreHz: number;
  /** Re a sine of full scale (its mean square is 1/2); −Infinity for silence. */
  readonly db: number;
}

export interface LoopSpectrum {
  /** Third octaves: centres 10^(x/10) kHz, edges 10^(±1/20) to either side (IEC 61260-1:2014, base 10). */
  readonly thirds: readonly SpectrumBand[];
  /** Eight to a third octave, on the same grid. */
  readonly fine: readonly SpectrumBand[];
}

/** Lines are about this far apart: fine enough for the lowest third octave, 4.6 Hz wide. */
const lineHz = 1.5;
/** Third octaves from 20 Hz to 20 kHz: x = −17 … 13. */
const [lowestThird, highestThird] = [-17, 13];
const finePerThird = 8;

/**
 * Mean power of a loop that goes round: half-overlapped Hann windows that start evenly over it and wrap at its end (P. D. Welch, "The use of fast Fourier transform for the estimation
 * of power spectra", IEEE Trans. Audio Electroacoust. AU-15, 1967, from memory), averaged over the channels too. A window leaks a line into its two neighbours; sums over bands keep the
 * power. Yields after every window; the samples are those of the region alone. Bands above half the rate are left out. Null: there is no sample.
 */
export function* loopSpectrumInSteps(channels: readonly Float64Array[], rateHz: number): Generator<undefined, LoopSpectrum | null> {
  const frames = channels[0]?.length ?? 0;
  if (frames === 0) return null;
  let size = 2;
  while (rateHz / size > lineHz) size *= 2;
  const fft = new RealFft(size);
  const window = cosineWindow(WINDOW_TERMS.hann, size);
  const weight = window.reduce((sum, w) => sum + w * w, 0);
  const power = new Float64Array(size / 2 + 1);
  const [piece, re, im] = [new Float64Array(size), new Float64Array(size / 2 + 1), new Float64Array(size / 2 + 1)];
  const count = Math.max(1, Math.ceil((2 * frames) / size));
  for (let k = 0; k < count; k += 1) {
    const start = Math.round((k * frames) / count);
    for (const channel of channels) {
      for (let n = 0; n < size; n += 1) piece[n] = window[n]! * channel[(start + n) % frames]!;
      fft.forward(piece, re, im);
      for (let line = 0; line < power.length; line += 1) power[line] = power[line]! + re[line]! * re[line]! + im[line]! * im[line]!;
    }
    yield undefined;
  }
  // Mean square of each line by Parseval: two of every pair but at 0 and at half the rate.
  const scale = 1 / (count * channels.length * size * weight);
  for (let line = 0; line < power.length; line += 1) power[line] = power[line]! * scale * (line === 0 || line === size / 2 ? 1 : 2);
  const of = (from: number, to: number, perThird: number): SpectrumBand[] => bands(power, rateHz / size, from, to, perThird).filter(({ toHz }) => toHz <= rateHz / 2);
  return { thirds: of(lowestThird, highestThird, 1), fine: of(lowestThird, highestThird, finePerThird) };
}

/** Bands on the grid of third octaves, each cut into `perThird`. */
function bands(power: Float64Array, spacingHz: number, lowest: number, highest: number, perThird: number): SpectrumBand[] {
  const edge = (k: number): number => 1000 * pow10((lowest - 0.5 + k / perThird) / 10);
  return Array.from({ length: (highest - lowest + 1) * perThird }, (_, k) => {
    const [fromHz, toHz] = [edge(k), edge(k + 1)];
    return { fromHz, toHz, centreHz: Math.sqrt(fromHz * toHz), db: ratioToDecibels(Math.sqrt(2 * between(power, fromHz / spacingHz, toHz / spacingHz))) };
  });
}

/** Power between two places counted in lines; a line is spread over its own width, half to either side. */
function between(power: Float64Array, from: number, to: number): number {
  let sum = 0;
  const last = Math.min(power.length - 1, Math.floor(to + 0.5));
  for (let line = Math.max(0, Math.floor(from + 0.5)); line <= last; line += 1) {
    const share = Math.min(to, line + 0.5) - Math.max(from, line - 0.5);
    if (share > 0) sum += share * power[line]!;
  }
  return sum;
}
