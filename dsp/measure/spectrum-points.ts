/** What is shown of a spectrum: lines thinned out to the columns of a plot, tones, third octaves. Plain data. Off the audio thread. */
import { pow10, sin } from '../math/index.ts';
import { bandsBelow, between } from './spectrum.ts';
import { spectrumWindowTerms, type SpectrumMeter, type SpectrumWindow } from './spectrum-meter.ts';

/** A tone read off between the lines. */
export interface SpectrumTone {
  readonly hz: number;
  /** Square of its peak. */
  readonly power: number;
}

export interface SpectrumPoints {
  /** What it is of: something that plays, what played until it stopped, or a loop that was rendered. */
  readonly of: 'playing' | 'stopped' | 'loop';
  readonly rateHz: number;
  /** Transforms in the mean; 0: not enough has come for one. */
  readonly count: number;
  readonly channels: 1 | 2;
  readonly noiseBandwidthHz: number;
  readonly spacingHz: number;
  /** Ascending. Where lines are denser than columns: the strongest line of each column, at its own frequency. */
  readonly hertz: Float64Array;
  /** Squares of peaks, one for each of `hertz`. */
  readonly powers: Float64Array;
  readonly held: Float64Array;
  /** Mean of the lines of each column, for densities, which one line overstates. */
  readonly means: Float64Array;
  /** Strongest first. */
  readonly tones: readonly SpectrumTone[];
  /** Third octaves: twice the mean square, so that a sine in a band reads as it does on a line. */
  readonly thirds: readonly { readonly fromHz: number; readonly toHz: number; readonly centreHz: number; readonly power: number }[];
}

/** Columns of a decade: more than a plot has pixels for. */
const columnsPerDecade = 160;
const lowestHz = 10;
const mostTones = 8;
/** A tone stands out of what is round it by this power ratio, and above −150 dBFS. */
const [prominence, leastPower] = [16, 1e-15] as const;

export function spectrumPoints(meter: SpectrumMeter, of: SpectrumPoints['of']): SpectrumPoints {
  const { spacingHz, powers, held, settings: { rateHz, channels, window } } = meter;
  const columns = columnsOf(powers.length, spacingHz);
  const strongest = columns.map(([from, to]) => strongestLine(powers, from, to));
  const strongestHeld = columns.map(([from, to]) => held[strongestLine(held, from, to)]!);
  return {
    of, rateHz, count: meter.count, channels, noiseBandwidthHz: meter.noiseBandwidthHz, spacingHz,
    hertz: Float64Array.from(strongest, (line) => line * spacingHz), powers: Float64Array.from(strongest, (line) => powers[line]!),
    held: Float64Array.from(strongestHeld),
    means: Float64Array.from(columns, ([from, to]) => meanOf(powers, from, to)),
    tones: tonesOf(powers, spacingHz, window),
    thirds: bandsBelow('third-octave', rateHz).map((band) => ({
      ...band, power: (between(powers, band.fromHz / spacingHz, band.toHz / spacingHz) * spacingHz) / meter.noiseBandwidthHz,
    })),
  };
}

/** Lines from the first to the one before the last, of each column that has any. */
function columnsOf(lines: number, spacingHz: number): (readonly [number, number])[] {
  const columns: (readonly [number, number])[] = [];
  let line = Math.max(1, Math.ceil(lowestHz / spacingHz));
  for (let k = 1; line < lines; k += 1) {
    const end = Math.min(lines, Math.ceil((lowestHz * pow10(k / columnsPerDecade)) / spacingHz));
    if (end <= line) continue;
    columns.push([line, end]);
    line = end;
  }
  return columns;
}

function strongestLine(powers: Float64Array, from: number, to: number): number {
  let strongest = from;
  for (let line = from + 1; line < to; line += 1) if (powers[line]! > powers[strongest]!) strongest = line;
  return strongest;
}

function meanOf(powers: Float64Array, from: number, to: number): number {
  let sum = 0;
  for (let line = from; line < to; line += 1) sum += powers[line]!;
  return sum / (to - from);
}

/**
 * Local maxima that stand out of what is beside their window's main lobe, each with the frequency and height that the window's transform gives its two largest lines. Exact for a single tone (its
 * mirror image neglected); of two tones within a lobe of each other neither is.
 */
export function tonesOf(powers: Float64Array, spacingHz: number, window: SpectrumWindow): SpectrumTone[] {
  const lobe = spectrumWindowTerms[window].length + 1;
  const lines: number[] = [];
  for (let line = 1; line + 1 < powers.length; line += 1) {
    const power = powers[line]!;
    if (!(power >= leastPower && power > powers[line - 1]! && power >= powers[line + 1]!)) continue;
    const below = meanOf(powers, Math.max(0, line - 3 * lobe), Math.max(1, line - lobe));
    const above = meanOf(powers, Math.min(powers.length - 1, line + lobe), Math.min(powers.length, line + 3 * lobe));
    if (power > prominence * Math.max(below, above)) lines.push(line);
  }
  // Between lines a tone may read 4 dB less: more than are told are looked at.
  const strongest = lines.sort((a, b) => powers[b]! - powers[a]!).slice(0, 4 * mostTones);
  const tones = strongest.map((line) => {
    const power = powers[line]!;
    const side = powers[line + 1]! >= powers[line - 1]! ? 1 : -1;
    const offset = offsetOf(powers[line + side]! / power, window);
    const height = windowGain(offset, window);
    return { hz: (line + side * offset) * spacingHz, power: power / (height * height) };
  });
  return tones.sort((a, b) => b.power - a.power).slice(0, mostTones);
}

/** How far a tone lies from its strongest line, 0 to 1/2, by the power of the line beside over that of the strongest. */
function offsetOf(ratio: number, window: SpectrumWindow): number {
  let [low, high] = [0, 0.5];
  for (let k = 0; k < 50; k += 1) {
    const middle = (low + high) / 2;
    const [near, beside] = [windowGain(middle, window), windowGain(1 - middle, window)];
    if (beside * beside < ratio * near * near) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Transform of a cosine-sum window so many lines away, re its value on the line; for long windows: Σ ck (sinc(x − k) + sinc(x + k))/2. */
export function windowGain(lines: number, window: SpectrumWindow): number {
  const terms = spectrumWindowTerms[window];
  let sum = terms[0]! * sinc(lines);
  for (let k = 1; k < terms.length; k += 1) sum += (terms[k]! / 2) * (sinc(lines - k) + sinc(lines + k));
  return sum / terms[0]!;
}

function sinc(x: number): number {
  return x === 0 ? 1 : sin(Math.PI * x) / (Math.PI * x);
}
