/**
 * Where harmonics come from. One mechanism at a time is taken away (its law becomes a tangent, `circuit/remove.ts`) and the rest measured again: what a harmonic loses with it, as a complex number, is that
 * mechanism's contribution. Contributions add as vectors; since mechanisms act on one another they do not add up to the whole, and what is missing is printed as the interaction remainder.
 *
 * What is kept equal: each stage is driven by what reaches it in the path as it stands; behind the stage whose mechanism is taken away an ideal gain brings the fundamental back to the level it had, so
 * that the stages behind it work as before. Harmonics are taken relative to the fundamental and in its phase, r_n = (a_n/a_1) e^(j(φ_n − n φ_1)).
 */
import { atan2, decibelsToRatio, ratioToDecibels } from '../math/index.ts';
import { projectHarmonics, type HarmonicProjection } from '../circuit/index.ts';
import type { PlannedStage } from '../path/index.ts';
import { stageHarmonics, steadyStageInSteps, type SteadyMemory, type SteadyStage } from './steady-path.ts';

/** Complex ratios to the fundamental, one for each order asked for. */
export interface HarmonicVectors {
  readonly re: readonly number[];
  readonly im: readonly number[];
}

/** From a projection onto order 1 and then the orders wanted. */
export function vectorsOf({ amplitudes, phases }: HarmonicProjection, orders: readonly number[], turn: (angle: number) => readonly [cos: number, sin: number]): HarmonicVectors {
  const parts = orders.map((order, k) => {
    const [c, s] = turn(phases[k + 1]! - order * phases[0]!);
    const ratio = amplitudes[k + 1]! / amplitudes[0]!;
    return [ratio * c, ratio * s] as const;
  });
  return { re: parts.map(([re]) => re), im: parts.map(([, im]) => im) };
}

/** Size in dB, −∞ for nothing. */
export const decibelsOf = (re: number, im: number): number => ratioToDecibels(Math.sqrt(re * re + im * im));
/** Degrees, −180 … 180. */
export const degreesOf = (re: number, im: number): number => (atan2(im, re) * 180) / Math.PI;

const zero = (orders: number): HarmonicVectors => ({ re: Array<number>(orders).fill(0), im: Array<number>(orders).fill(0) });

function combined(a: HarmonicVectors, b: HarmonicVectors, sign: 1 | -1): HarmonicVectors {
  return { re: a.re.map((x, k) => x + sign * b.re[k]!), im: a.im.map((x, k) => x + sign * b.im[k]!) };
}

/** `contributions` without what `whole` has more than their sum. */
export interface Attribution {
  readonly whole: HarmonicVectors;
  /** In the order given: whole less the whole without it. */
  readonly contributions: readonly HarmonicVectors[];
  readonly sum: HarmonicVectors;
  /** Whole less sum. */
  readonly remainder: HarmonicVectors;
}

/** `without`: the whole's harmonics without each mechanism. */
export function attribute(whole: HarmonicVectors, without: readonly HarmonicVectors[]): Attribution {
  const contributions = without.map((left) => combined(whole, left, -1));
  const sum = contributions.reduce((total, contribution) => combined(total, contribution, 1), zero(whole.re.length));
  return { whole, contributions, sum, remainder: combined(whole, sum, -1) };
}

/** Two contributions that point against each other. */
export interface Cancellation {
  /** Index into the orders. */
  readonly order: number;
  readonly first: number;
  readonly second: number;
  /** dB by which their sum lies below the larger of the two. */
  readonly savedDb: number;
  /** Between the two, degrees, 90 … 180. */
  readonly angleDegrees: number;
  /** Of the larger one, and of their sum, dB. */
  readonly largerDb: number;
  readonly leftDb: number;
}

/** Those that save at least `leastDb`, where the larger of the two is not under `floorDb`; where the most amplitude is saved first. */
export function cancellations(contributions: readonly HarmonicVectors[], leastDb: number, floorDb: number): Cancellation[] {
  const found: Cancellation[] = [];
  const orders = contributions[0]?.re.length ?? 0;
  for (let order = 0; order < orders; order += 1) {
    for (let first = 0; first < contributions.length; first += 1) {
      for (let second = first + 1; second < contributions.length; second += 1) {
        const [a, b] = [contributions[first]!, contributions[second]!];
        const [ar, ai, br, bi] = [a.re[order]!, a.im[order]!, b.re[order]!, b.im[order]!];
        if (!(ar * br + ai * bi < 0)) continue;
        const largerDb = Math.max(decibelsOf(ar, ai), decibelsOf(br, bi));
        const leftDb = decibelsOf(ar + br, ai + bi);
        if (!(largerDb >= floorDb) || !(largerDb - leftDb >= leastDb)) continue;
        found.push({ order, first, second, savedDb: largerDb - leftDb, angleDegrees: Math.abs(degreesOf(ar * br + ai * bi, ai * br - ar * bi)), largerDb, leftDb });
      }
    }
  }
  const savedRatio = ({ largerDb, leftDb }: Cancellation): number => decibelsToRatio(largerDb) - decibelsToRatio(leftDb);
  return found.sort((one, other) => savedRatio(other) - savedRatio(one));
}

/** A path in its steady state, as what is taken away is measured against. */
export interface WholeRun {
  readonly stages: readonly PlannedStage[];
  /** Of these stages. */
  readonly steady: readonly SteadyStage[];
  /** One period into the first. */
  readonly input: Float64Array;
  readonly cycles: number;
  /** Solutions by stage key, where the stages behind begin. */
  readonly memory: SteadyMemory;
}

/** What runs in place of the stages from `first` to the one before `end`. */
export interface Replacement {
  readonly first: number;
  readonly end: number;
  readonly without: readonly PlannedStage[];
}

export interface RunWithout {
  /** At the end of the path. */
  readonly projection: HarmonicProjection;
  /** dB by which the fundamental rises behind the stage where the mechanism is taken away, before it is brought back. */
  readonly gainDb: number;
  /** A stage that has no steady state without it; else null. */
  readonly oscillates: SteadyStage | null;
}

/** Harmonics of the path with a replacement, brought back to the fundamental that the whole has there. Yields between passes over the period. */
export function* runWithout(whole: WholeRun, { first, end, without }: Replacement, orders: readonly number[]): Generator<void, RunWithout> {
  const { stages, steady, cycles } = whole;
  const projected = [1, ...orders];
  const memory: SteadyMemory = new Map(whole.memory);
  let output = first === 0 ? whole.input : steady[first - 1]!.output;
  let last: SteadyStage | null = first === 0 ? null : steady[first - 1]!;
  const nothing = new Float64Array(projected.length).fill(NaN);
  const lost = (stage: SteadyStage): RunWithout => ({ projection: { dcVolts: NaN, amplitudes: nothing, phases: nothing }, gainDb: NaN, oscillates: stage });
  // Another circuit under the same key: its solution is found from rest.
  for (const stage of without) {
    last = yield* steadyStageInSteps(stage, { input: output, cycles }, undefined, false);
    if (last.steady?.oscillates) return lost(last);
    ({ output } = last);
  }
  const fundamental = (stage: SteadyStage | null): number => (stage === null ? projectHarmonics(whole.input, cycles, [1]) : stageHarmonics(stage, cycles, [1])).amplitudes[0]!;
  const ratio = fundamental(end === 0 ? null : steady[end - 1]!) / fundamental(last);
  output = output.map((volts) => volts * ratio);
  for (const stage of stages.slice(end)) {
    last = yield* steadyStageInSteps(stage, { input: output, cycles }, memory, false);
    if (last.steady?.oscillates) return lost(last);
    ({ output } = last);
  }
  return { projection: last === null ? projectHarmonics(output, cycles, projected) : stageHarmonics(last, cycles, projected), gainDb: -ratioToDecibels(ratio), oscillates: null };
}
