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
/** Octaves are three of them, round 1 kHz: from 31.5 Hz to 16 kHz. */
const [lowestOctave, highestOctave] = [-15, 12];
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
  return bandGrid(lowest, highest, 1 / perThird).map((band) => ({
    ...band, db: ratioToDecibels(Math.sqrt(2 * between(power, band.fromHz / spacingHz, band.toHz / spacingHz))),
  }));
}

/** A band of frequencies. */
export type Band = Pick<SpectrumBand, 'fromHz' | 'toHz' | 'centreHz'>;

/** Bands that lie whole below half the rate: third octaves from 20 Hz to 20 kHz, or octaves from 31.5 Hz to 16 kHz (IEC 61260-1:2014, base 10). */
export function bandsBelow(width: 'third-octave' | 'octave', rateHz: number): Band[] {
  const grid = width === 'octave' ? bandGrid(lowestOctave - 1, highestOctave + 1, 3) : bandGrid(lowestThird, highestThird, 1);
  return grid.filter(({ toHz }) => toHz <= rateHz / 2);
}

/** From the lower edge of one third octave to the upper edge of another, in bands of so many third octaves. */
function bandGrid(lowest: number, highest: number, thirds: number): Band[] {
  const edge = (k: number): number => 1000 * pow10((lowest - 0.5 + k * thirds) / 10);
  return Array.from({ length: Math.round((highest - lowest + 1) / thirds) }, (_, k) => {
    const [fromHz, toHz] = [edge(k), edge(k + 1)];
    return { fromHz, toHz, centreHz: Math.sqrt(fromHz * toHz) };
  });
}

/** Sum of an entry a line between two places counted in lines; a line is spread over its own width, half to either side. */
export function between(power: Float64Array, from: number, to: number): number {
  let sum = 0;
  const last = Math.min(power.length - 1, Math.floor(to + 0.5));
  for (let line = Math.max(0, Math.floor(from + 0.5)); line <= last; line += 1) {
    const share = Math.min(to, line + 0.5) - Math.max(from, line - 0.5);
    if (share > 0) sum += share * power[line]!;
  }
  return sum;
}
