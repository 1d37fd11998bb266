/** Tones that fit a whole number of samples, and their projection onto harmonics. */
import { atan2, cos, sin } from '../math/index.ts';

/** Longest period that an exact frequency may cost. */
const longestExactFrames = 65536;
const mostCycles = 64;

/** M cycles in N samples, without common divisor. */
export interface CoherentFrequency {
  readonly cycles: number;
  readonly periodFrames: number;
  /** M · rate / N: the frequency in fact used. */
  readonly hz: number;
}

/**
 * The frequency asked for, exactly, where its ratio to the rate is a fraction M/N with N ≤ 65,536; else the nearest with M ≤ 64 cycles in
 * N = round(M · rate / f) samples, ties to fewer cycles. Throws `RangeError` for what is not between 0 and half the rate.
 */
export function chooseFrequency(requestedHz: number, rateHz: number): CoherentFrequency {
  if (!(rateHz > 0 && rateHz < Infinity)) throw new RangeError(`rateHz: expected a positive number of hertz, got ${rateHz}`);
  if (!(requestedHz > 0 && requestedHz < rateHz / 2)) {
    throw new RangeError(`frequency: expected more than 0 and less than ${rateHz / 2} Hz (half the rate), got ${requestedHz} Hz`);
  }
  const exact = exactFraction(requestedHz / rateHz);
  if (exact !== null) return { ...exact, hz: requestedHz };
  let best = { cycles: 1, periodFrames: Math.round(rateHz / requestedHz) };
  const distance = ({ cycles, periodFrames }: { cycles: number; periodFrames: number }): number =>
    Math.abs((cycles * rateHz) / periodFrames - requestedHz);
  for (let cycles = 2; cycles <= mostCycles; cycles += 1) {
    const candidate = { cycles, periodFrames: Math.round((cycles * rateHz) / requestedHz) };
    if (distance(candidate) < distance(best)) best = candidate;
  }
  const divisor = greatestCommonDivisor(best.cycles, best.periodFrames);
  const cycles = best.cycles / divisor;
  const periodFrames = best.periodFrames / divisor;
  return { cycles, periodFrames, hz: (cycles * rateHz) / periodFrames };
}

/** The fraction whose quotient is `ratio` up to rounding, by its continued fraction; null if its denominator is too large. */
function exactFraction(ratio: number): { cycles: number; periodFrames: number } | null {
  let [h, hBefore, k, kBefore] = [1, 0, 0, 1];
  let rest = ratio;
  for (;;) {
    const whole = Math.floor(rest);
    [h, hBefore, k, kBefore] = [whole * h + hBefore, h, whole * k + kBefore, k];
    if (k > longestExactFrames) return null;
    if (Math.abs(h / k - ratio) <= 4 * Number.EPSILON * ratio) return { cycles: h, periodFrames: k };
    rest = 1 / (rest - whole);
    if (!(rest < 1e15)) return null;
  }
}

function greatestCommonDivisor(a: number, b: number): number {
  return b === 0 ? a : greatestCommonDivisor(b, a % b);
}

/** cos(2π i / N), i = 0 … N − 1, each to the last place of its own. */
export function cosineTable(frames: number): Float64Array {
  return Float64Array.from({ length: frames }, (_, i) => cos((2 * Math.PI * i) / frames));
}

function sineTable(frames: number): Float64Array {
  return Float64Array.from({ length: frames }, (_, i) => sin((2 * Math.PI * i) / frames));
}

interface PeriodTables {
  readonly cosines: Float64Array;
  readonly sines: Float64Array;
}

/** Tables of the lengths last asked for: a level sweep asks for the same one again and again, and would spend a third of its time on them. */
const recentTables = new Map<number, PeriodTables>();
const mostRecentTables = 8;
/** Longer ones are made anew. Four steps a sample of 100 Hz at 384 kHz are 15,360. */
const longestKeptFrames = 16_384;

function tablesOf(frames: number): PeriodTables {
  const recent = recentTables.get(frames);
  if (recent !== undefined) return recent;
  const tables = { cosines: cosineTable(frames), sines: sineTable(frames) };
  if (frames <= longestKeptFrames) {
    if (recentTables.size === mostRecentTables) recentTables.delete(recentTables.keys().next().value!);
    recentTables.set(frames, tables);
  }
  return tables;
}

/** One period of `peakVolts · cos(2π M i / N)`. */
export function cosineDrive({ cycles, periodFrames }: CoherentFrequency, peakVolts: number): Float64Array {
  const table = periodFrames <= longestKeptFrames ? tablesOf(periodFrames).cosines : cosineTable(periodFrames);
  const drive = new Float64Array(periodFrames);
  for (let i = 0; i < periodFrames; i += 1) drive[i] = peakVolts * table[(cycles * i) % periodFrames]!;
  return drive;
}

export interface HarmonicProjection {
  /** Mean of the wave. */
  readonly dcVolts: number;
  /** Peak volts of each order asked for. */
  readonly amplitudes: Float64Array;
  /** Radians within ±π, relative to a cosine. */
  readonly phases: Float64Array;
}

/** Complex Fourier coefficients: the wave is mean + Σ x_k cos(2π k M i / N) − y_k sin(2π k M i / N). */
export interface HarmonicVectors {
  readonly dcVolts: number;
  /** Peak volts, an entry for each order asked for. */
  readonly reals: Float64Array;
  readonly imaginaries: Float64Array;
}

/**
 * Fourier coefficients of one period that holds `cycles` cycles: the wave is mean + Σ a_k cos(2π k M i / N + φ_k). Orders above half the rate
 * name their alias. Error about N · 1e-16 of the peak.
 */
export function projectHarmonics(wave: Float64Array, cycles: number, orders: readonly number[]): HarmonicProjection {
  return projectionOf(harmonicVectors(wave, cycles, orders, 0));
}

/** By amplitude and phase. */
export function projectionOf({ dcVolts, reals, imaginaries }: HarmonicVectors): HarmonicProjection {
  return {
    dcVolts,
    amplitudes: reals.map((real, k) => Math.sqrt(real * real + imaginaries[k]! * imaginaries[k]!)),
    phases: reals.map((real, k) => atan2(imaginaries[k]!, real)),
  };
}

/** As `projectHarmonics`, of a wave whose first sample is i = `first`, a whole number. */
export function harmonicVectors(wave: Float64Array, cycles: number, orders: readonly number[], first: number): HarmonicVectors {
  const frames = wave.length;
  const { cosines, sines } = tablesOf(frames);
  let total = 0;
  for (const volts of wave) total += volts;
  const dcVolts = total / frames;
  const reals = new Float64Array(orders.length);
  const imaginaries = new Float64Array(orders.length);
  const { sums, differences } = halvesOf(wave, dcVolts);
  orders.forEach((order, k) => {
    const stride = (order * cycles) % frames;
    const half = stride % 2 === 0 ? sums : differences;
    let index = (stride * (((first % frames) + frames) % frames)) % frames;
    let real = 0;
    let imaginary = 0;
    for (let i = 0; i < half.length; i += 1) {
      const volts = half[i]!;
      real += volts * cosines[index]!;
      imaginary -= volts * sines[index]!;
      index += stride;
      if (index >= frames) index -= frames;
    }
    reals[k] = (2 / frames) * real;
    imaginaries[k] = (2 / frames) * imaginary;
  });
  return { dcVolts, reals, imaginaries };
}

/**
 * A period without its mean, folded in half: half a period on, cosine and sine of an even number of cycles are the same and those of an odd number the negative, so that an order takes half the work. A wave of
 * an odd number of samples is left whole.
 */
function halvesOf(wave: Float64Array, mean: number): { readonly sums: Float64Array; readonly differences: Float64Array } {
  if (wave.length % 2 === 1) {
    const whole = wave.map((volts) => volts - mean);
    return { sums: whole, differences: whole };
  }
  const half = wave.length / 2;
  const sums = new Float64Array(half);
  const differences = new Float64Array(half);
  for (let i = 0; i < half; i += 1) {
    sums[i] = wave[i]! - mean + (wave[i + half]! - mean);
    differences[i] = wave[i]! - wave[i + half]!;
  }
  return { sums, differences };
}
