/** Thirty-one tones a third octave apart, on odd lines of one period, in phases that keep the peak low. */
import { cos, nearestOddCycles, power, RealFft, SeededRandom, sin } from '../../math/index.ts';
import type { PeriodicDrive } from './periodic-drive.ts';

export const toneCount = 31;
const [lowestHz, highestHz] = [20, 20_000];
/** Lines are at most this far apart: the lowest tones lie 5 Hz from each other. */
const widestSpacingHz = 6;

export interface MultitoneSignal {
  readonly rateHz: number;
  /** Samples of the period, a power of two. */
  readonly frames: number;
  /** Cycles of each tone in it: odd, ascending. */
  readonly cycles: readonly number[];
  readonly phases: readonly number[];
  /** Peak over rms of one period. */
  readonly crest: number;
}

/** The phases are drawn from this. */
const seed = 20_261_126;
/** Points of the period that the search looks at for each cycle of the highest tone, at least. */
const pointsPerCycle = 4;
/** Doublings of the exponent, from 4 on, and rounds at each. */
const [doublings, roundsEach] = [4, 50];
/** Radians that the phase moves which moves most, in the first round; the last moves it hardly at all. */
const firstStep = 0.15;

const known = new Map<number, MultitoneSignal>();

/**
 * Tones at 20 · 1000^(k/30) Hz, k = 0 … 30, each on the nearest odd line (the next free one where several want the same): laws of even order then fall on even lines, where no tone stands. The search for phases yields after
 * every round, and is done once a rate. Throws RangeError for a rate that does not hold 20 kHz.
 *
 * Phases: from seeded random ones down the slope of the mean of |x|^p, p = 4, 8, 16, 32, which comes nearer and nearer to the peak (P. Guillaume, J. Schoukens, R. Pintelon, I. Kollár, "Crest factor minimization using
 * nonlinear Chebyshev approximation methods", 1991, from memory; plain steps of falling length in place of its solver). From 3.7 the crest comes down to about 2.4.
 */
export function* multitoneSignal(rateHz: number): Generator<undefined, MultitoneSignal> {
  if (!(rateHz > 2 * highestHz)) throw new RangeError(`multitone: expected a rate above ${2 * highestHz} Hz, got ${rateHz} Hz`);
  const before = known.get(rateHz);
  if (before) return before;
  let frames = 2;
  while (rateHz / frames > widestSpacingHz) frames *= 2;
  const cycles = oddLines(rateHz, frames);
  const phases = yield* quietPhases(cycles);
  const signal = { rateHz, frames, cycles, phases, crest: crestOf(cycles, phases, frames) };
  known.set(rateHz, signal);
  return signal;
}

function oddLines(rateHz: number, frames: number): number[] {
  const cycles: number[] = [];
  for (let k = 0; k < toneCount; k += 1) {
    const wanted = lowestHz * power(highestHz / lowestHz, k / (toneCount - 1));
    const nearest = nearestOddCycles(wanted, rateHz, frames).cycles;
    cycles.push(k === 0 ? nearest : Math.max(nearest, cycles[k - 1]! + 2));
  }
  return cycles;
}

function* quietPhases(cycles: readonly number[]): Generator<undefined, number[]> {
  const random = new SeededRandom(seed);
  let phases = cycles.map(() => 2 * Math.PI * random.nextUnit());
  let size = 2;
  while (size < pointsPerCycle * cycles.at(-1)!) size *= 2;
  const fft = new RealFft(size);
  const [wave, re, im] = [new Float64Array(size), new Float64Array(size / 2 + 1), new Float64Array(size / 2 + 1)];
  let best = { peak: Infinity, phases };
  const rounds = doublings * roundsEach;
  for (let round = 0; round < rounds; round += 1) {
    const peak = waveOf(fft, cycles, phases, { wave, re, im });
    if (peak < best.peak) best = { peak, phases };
    raise(wave, peak, 2 + Math.floor(round / roundsEach));
    fft.forward(wave, re, im);
    // The slope of Σ |x|^p by the phase of a line: Σ sign(x) |x|^(p−1) · −sin(turn + phase).
    const slopes = cycles.map((line, k) => im[line]! * cos(phases[k]!) - re[line]! * sin(phases[k]!));
    const steepest = slopes.reduce((most, slope) => Math.max(most, Math.abs(slope)), 0);
    const step = (firstStep * (1 - round / rounds)) / steepest;
    phases = phases.map((phase, k) => phase - step * slopes[k]!);
    yield undefined;
  }
  return best.phases;
}

/** x → sign(x) |x/peak|^(2^doublings − 1). */
function raise(wave: Float64Array, peak: number, doubled: number): void {
  for (let i = 0; i < wave.length; i += 1) {
    const x = wave[i]! / peak;
    let square = x * x;
    let raised = x;
    for (let k = 1; k < doubled; k += 1) {
      raised *= square;
      square *= square;
    }
    wave[i] = raised;
  }
}

/** Fills `wave` with tones of peak 1; their largest sample. */
function waveOf(fft: RealFft, cycles: readonly number[], phases: readonly number[], { wave, re, im }: { readonly wave: Float64Array; readonly re: Float64Array; readonly im: Float64Array }): number {
  re.fill(0);
  im.fill(0);
  cycles.forEach((line, k) => {
    re[line] = (fft.size / 2) * cos(phases[k]!);
    im[line] = (fft.size / 2) * sin(phases[k]!);
  });
  fft.inverse(re, im, wave);
  return wave.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
}

function crestOf(cycles: readonly number[], phases: readonly number[], frames: number): number {
  const peak = waveOf(new RealFft(frames), cycles, phases, { wave: new Float64Array(frames), re: new Float64Array(frames / 2 + 1), im: new Float64Array(frames / 2 + 1) });
  return peak / Math.sqrt(cycles.length / 2);
}

/** The signal as a drive whose peak is `peakVolts`. */
export function multitoneDrive({ rateHz, frames, cycles, phases, crest }: MultitoneSignal, peakVolts: number): PeriodicDrive {
  const each = peakVolts / (crest * Math.sqrt(cycles.length / 2));
  return { rateHz, frames, lines: cycles.map((line, k) => ({ cycles: line, peakVolts: each, phaseRadians: phases[k]! })) };
}
