/**
 * Which integration rule a circuit needs: the cheapest whose estimated error at 10 kHz is within the limit of the grade. A function of the program and its nominal level alone. Off the audio
 * thread. No source: our own rule; that the estimates bound the true errors was measured on circuits converged by Richardson's extrapolation.
 */
import { decibelsToRatio, ratioToDecibels } from '../math/index.ts';
import { findClipping } from './clipping-level.ts';
import { cosineDrive, projectHarmonics } from './frequency.ts';
import type { CoherentFrequency } from './frequency.ts';
import { combinedPeriods } from './periodic-rule.ts';
import type { CircuitProgram, Grade, IntegrationRule, RuleChoice } from './program.ts';
import { subStepsOfRule } from './program.ts';
import { solveSteadyState } from './steady-state.ts';
import type { SteadyState } from './steady-state.ts';

const limitsDb: Readonly<Record<Grade, number>> = { listening: 0.05, measuring: 0.01 };
/** Cheapest first. */
const rules: readonly IntegrationRule[] = ['T1', 'T12', 'T24'];
const toneHz = 10_000;
/** The tone is as near to 10 kHz as so many cycles in a whole number of samples come. */
const mostCycles = 8;
/**
 * Higher orders of a hard-clipped 10 kHz tone may stay tenths of a dB off under every rule: only a higher rate cures that. At low rates orders from half the rate on are left out, too: what stands at their
 * place in the band is their alias, which no rule removes.
 */
const judgedOrders = [1, 2, 3, 4, 5];
/** An order whose two amplitudes differ by less than this part of the fundamental (−150 dB) says nothing: it may be a null, or rounding. */
const leastDifference = 3.1623e-8;
/** What nominalPeakVolts is the peak of. */
const nominalDbu = 4;
const lowestDbu = -20;
const highestDbu = 24;

/**
 * `family` is a program whose instances have 1, 2 and 4 steps a sample; `nominalPeakVolts` is a sine's peak at its input that stands for +4 dBu. Listening is judged at that level, measuring also at the
 * clipping level (1 kHz THD reaches 1 %; +24 dBu if it never does). Where no rule is within the limit it is T24, and where no steady state can be found (an oscillating circuit) T24 with an error of Infinity.
 */
export function chooseRule(family: CircuitProgram, grade: Grade, nominalPeakVolts: number): { readonly rule: IntegrationRule; readonly choice: RuleChoice } {
  const limitDb = limitsDb[grade];
  const frequency = toneFor(family.rateHz);
  const errors = estimates(family, frequency, nominalPeakVolts);
  let errorDb = errors.dB;
  if (grade === 'measuring' && errors.steady !== null) {
    const louder = estimates(family, frequency, clippingPeakVolts(family, nominalPeakVolts), errors.steady);
    errorDb = errorDb.map((db, k) => Math.max(db, louder.dB[k]!));
  }
  const within = errorDb.findIndex((db) => db <= limitDb);
  const chosen = within < 0 ? rules.length - 1 : within;
  return { rule: rules[chosen]!, choice: { grade, errorDb: errorDb[chosen]!, limitDb } };
}

interface Estimates {
  /** Of T1, T12, T24: estimated error of the worst order judged; Infinity if there is no steady state. */
  readonly dB: readonly number[];
  /** Null if there is none. */
  readonly steady: SteadyState | null;
}

/** T1 and T12 are held against T24; of the difference between T12 and T24 half is taken for T24's own. */
function estimates(family: CircuitProgram, frequency: CoherentFrequency, peakVolts: number, warmStart?: SteadyState): Estimates {
  const input = cosineDrive(frequency, peakVolts);
  const steady = solveSteadyState(family, { input, cycles: frequency.cycles }, { wantSpectralRadius: false, settleIfLost: false, ...(warmStart ? { warmStart } : {}) });
  if (steady.oscillates) return { dB: rules.map(() => Infinity), steady: null };
  const orders = judgedOrders.filter((order) => order * frequency.hz < family.rateHz / 2);
  const [t1, t12, t24] = rules.map((rule) => {
    const outputs = subStepsOfRule[rule].map((subSteps) => steady.instances.find((instance) => instance.subSteps === subSteps)!.output);
    return projectHarmonics(combinedPeriods(outputs), frequency.cycles, orders).amplitudes;
  });
  return { dB: [largestDifferenceDb(t1!, t24!), largestDifferenceDb(t12!, t24!), largestDifferenceDb(t12!, t24!) / 2], steady };
}

function largestDifferenceDb(a: Float64Array, b: Float64Array): number {
  const floor = leastDifference * b[0]!;
  return a.reduce((largest, amplitude, k) => {
    if (Math.abs(amplitude - b[k]!) < floor) return largest;
    const db = Math.abs(ratioToDecibels(amplitude / b[k]!));
    return db <= largest ? largest : db;
  }, 0);
}

function clippingPeakVolts(family: CircuitProgram, nominalPeakVolts: number): number {
  const coarsest: CircuitProgram = { ...family, instances: family.instances.filter(({ subSteps }) => subSteps === 1) };
  const clipping = findClipping(coarsest, {
    referencePeakVolts: nominalPeakVolts * decibelsToRatio(-nominalDbu), lowestDb: lowestDbu, highestDb: highestDbu, coarseDb: 4, fineDb: 0.5,
  });
  return nominalPeakVolts * decibelsToRatio((clipping?.above.levelDb ?? highestDbu) - nominalDbu);
}

/** The nearest to 10 kHz of M cycles in N whole samples, M up to 8, ties to the fewest: exact at 48 and 96 kHz times 1 to 16. */
function toneFor(rateHz: number): CoherentFrequency {
  let best: CoherentFrequency | null = null;
  for (let cycles = 1; cycles <= mostCycles; cycles += 1) {
    const periodFrames = Math.max(2 * cycles + 1, Math.round((cycles * rateHz) / toneHz));
    const hz = (cycles * rateHz) / periodFrames;
    if (best === null || Math.abs(hz - toneHz) < Math.abs(best.hz - toneHz)) best = { cycles, periodFrames, hz };
  }
  return best!;
}
