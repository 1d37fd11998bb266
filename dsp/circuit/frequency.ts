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
/** Longer ones are made anew. */
const longestKeptFrames = 4096;

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

/**
 * Fourier coefficients of one period that holds `cycles` cycles: the wave is mean + Σ a_k cos(2π k M i / N + φ_k). Orders above half the rate
 * name their alias. Error about N · 1e-16 of the peak.
 */
export function projectHarmonics(wave: Float64Array, cycles: number, orders: readonly number[]): HarmonicProjection {
  const frames = wave.length;
  const { cosines, sines } = tablesOf(frames);
  let total = 0;
  for (const volts of wave) total += volts;
  const dcVolts = total / frames;
  const amplitudes = new Float64Array(orders.length);
  const phases = new Float64Array(orders.length);
  orders.forEach((order, k) => {
    const stride = (order * cycles) % frames;
    let index = 0;
    let real = 0;
    let imaginary = 0;
    for (let i = 0; i < frames; i += 1) {
      const volts = wave[i]! - dcVolts;
      real += volts * cosines[index]!;
      imaginary -= volts * sines[index]!;
      index += stride;
      if (index >= frames) index -= frames;
    }
    amplitudes[k] = (2 / frames) * Math.sqrt(real * real + imaginary * imaginary);
    phases[k] = atan2(imaginary, real);
  });
  return { dcVolts, amplitudes, phases };
}
