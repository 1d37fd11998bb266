/**
 * Which integration rule a circuit needs: the cheapest whose estimated error at 10 kHz is within the limit of the grade. A function of the program and its nominal level alone. Off the audio
 * thread. No source: our own rule; that the estimates bound the true errors was measured on circuits converged by Richardson's extrapolation.
 */
import { decibelsToRatio, ratioToDecibels } from '../math/index.ts';
import { findClipping } from './clipping-level.ts';
import { cosineDrive, projectionOf } from './frequency.ts';
import type { CoherentFrequency, HarmonicVectors } from './frequency.ts';
import { rulesOf, subStepsOfRule } from './program.ts';
import type { CircuitProgram, Grade, IntegrationRule, RuleChoice } from './program.ts';
import { combinedVectors, instanceVectors } from './steady-harmonics.ts';
import { solveSteadyState } from './steady-state.ts';
import type { SteadyState } from './steady-state.ts';

/** What a grade asks for at nominal level, and where the circuit clips (listening is not judged there). */
const limitsDb: Readonly<Record<Grade, { readonly nominal: number; readonly clipping: number }>> = {
  listening: { nominal: 0.05, clipping: Infinity },
  measuring: { nominal: 0.005, clipping: 0.01 },
};
const toneHz = 10_000;
/** The tone is as near to 10 kHz as so many cycles in a whole number of samples come. */
const mostCycles = 8;
/**
 * Higher orders of a hard-clipped 10 kHz tone may stay tenths of a dB off under every rule: only a higher rate cures that. At low rates orders from half the rate on are left out, too: what stands at their
 * place in the band is their alias, which no rule removes.
 */
const judgedOrders = [1, 2, 3, 4, 5];
/** An order whose two amplitudes differ by no more than this part of the strongest order (−150 dB of the fundamental, but for rectifiers) says nothing: it may be a null, or rounding. */
const leastDifference = 3.1623e-8;
/** Above this a difference between rules of fourth order is no longer small. */
const largeDifferenceDb = 0.05;
/** What nominalPeakVolts is the peak of. */
const nominalDbu = 4;
const lowestDbu = -20;
const highestDbu = 24;

/**
 * `family` is a program whose instances have 1, 2 and 4 steps a sample; `nominalPeakVolts` is a sine's peak at its input that stands for +4 dBu. Listening is judged at that level, measuring also at the
 * clipping level (1 kHz THD reaches 1 %; +24 dBu if it never does). Where no rule is within the limit it is the best: T24, but at low rates, where the cubic through the samples may be worse than none. Where no
 * steady state can be found (an oscillating circuit) it is T24 with an error of Infinity.
 */
export function chooseRule(family: CircuitProgram, grade: Grade, nominalPeakVolts: number): { readonly rule: IntegrationRule; readonly choice: RuleChoice } {
  const rules = rulesOf(family);
  const limits = limitsDb[grade];
  const tone = toneFor(family.rateHz);
  const nominal = judgeAt(family, tone, nominalPeakVolts);
  const judged = [{ errorsDb: nominal.errorsDb, limitDb: limits.nominal }];
  if (limits.clipping < Infinity && nominal.steady !== null) {
    judged.push({ errorsDb: judgeAt(family, tone, clippingPeakVolts(family, nominalPeakVolts), nominal.steady).errorsDb, limitDb: limits.clipping });
  }
  // Of each rule the level at which it comes nearest to its limit, or furthest beyond.
  const choices = rules.map((_, k): RuleChoice => judged.map(({ errorsDb, limitDb }) => ({ grade, errorDb: errorsDb[k]!, limitDb }))
    .reduce((worst, choice) => (choice.errorDb * worst.limitDb > worst.errorDb * choice.limitDb ? choice : worst)));
  const shares = choices.map(({ errorDb, limitDb }) => errorDb / limitDb);
  const within = shares.findIndex((share) => share <= 1);
  const chosen = within >= 0 ? within : shares.lastIndexOf(Math.min(...shares));
  return { rule: rules[chosen]!, choice: choices[chosen]! };
}

/** What `chooseRule` judges by at one level: estimated errors of the circuit's rules (T1, T12 and T24, or S1, S2 and S4) at 10 kHz, dB. */
export function ruleErrorsDb(family: CircuitProgram, peakVolts: number): readonly number[] {
  return judgeAt(family, toneFor(family.rateHz), peakVolts).errorsDb;
}

/** At one level. */
interface Judgement {
  /** Estimated error of the worst order judged, dB, for each rule; Infinity where there is no steady state. */
  readonly errorsDb: readonly number[];
  /** Null if there is none. */
  readonly steady: SteadyState | null;
}

const unknown: Judgement = { errorsDb: [Infinity, Infinity, Infinity], steady: null };

/**
 * What a rule differs by from the reference, plus what the reference may itself be off. The reference is T24 with the exact cosine between the samples in place of the cubic, so that what the cubic costs
 * shows too; half its difference from T12 with that cosine is taken for its own error (a fifteenth would be left of a smooth signal, but a clipped one is not), and all of it where it is not small: there the
 * rules' errors no longer fall in order (measured on a pair near class B). A core's reversals do not expand in h², but at 10 kHz their harmonics lie below what is judged.
 */
function judgeAt(family: CircuitProgram, tone: CoherentFrequency, peakVolts: number, quieter?: SteadyState): Judgement {
  const options = { wantSpectralRadius: false, settleIfLost: false };
  const wave = { input: cosineDrive(tone, peakVolts), cycles: tone.cycles };
  let steady = solveSteadyState(family, wave, options);
  // Twenty decibels away a neighbour is the worse start, but it is one.
  if (steady.oscillates && quieter !== undefined) steady = solveSteadyState(family, wave, { ...options, warmStart: quieter });
  if (steady.oscillates) return unknown;
  const exact = solveSteadyState(finerOf(family), { ...wave, between: (subSteps) => finerCosine(tone, peakVolts, subSteps) }, { ...options, warmStart: steady });
  if (exact.oscillates) return unknown;
  const orders = judgedOrders.filter((order) => order * tone.hz < family.rateHz / 2);
  const amplitudes = (...vectors: HarmonicVectors[]): Float64Array => projectionOf(combinedVectors(vectors)).amplitudes;
  const [h, h2, h4] = steady.instances.map((instance) => instanceVectors(instance, tone.cycles, orders));
  const [exact2, exact4] = exact.instances.map((instance) => instanceVectors(instance, tone.cycles, orders));
  const reference = amplitudes(exact2!, exact4!);
  const differenceDb = largestDifferenceDb(amplitudes(h!, exact2!), reference);
  const doubtDb = differenceDb <= largeDifferenceDb ? differenceDb / 2 : differenceDb;
  const runs = { 1: h!, 2: h2!, 4: h4! };
  const errorsDb = rulesOf(family).map((rule) => largestDifferenceDb(amplitudes(...subStepsOfRule[rule].map((steps) => runs[steps])), reference) + doubtDb);
  return { errorsDb, steady };
}

function finerOf(family: CircuitProgram): CircuitProgram {
  return { ...family, instances: family.instances.filter(({ subSteps }) => subSteps > 1) };
}

/** One period of the cosine at `subSteps` steps a sample, the first at −1 + 1/subSteps. */
function finerCosine({ cycles, periodFrames, hz }: CoherentFrequency, peakVolts: number, subSteps: number): Float64Array {
  const fine = cosineDrive({ cycles, periodFrames: periodFrames * subSteps, hz }, peakVolts);
  const first = 1 - subSteps + fine.length;
  return fine.map((_, k) => fine[(first + k) % fine.length]!);
}

function largestDifferenceDb(a: Float64Array, b: Float64Array): number {
  const floor = leastDifference * b.reduce((largest, amplitude) => Math.max(largest, amplitude), 0);
  return a.reduce((largest, amplitude, k) => {
    if (Math.abs(amplitude - b[k]!) <= floor) return largest;
    const db = Math.abs(ratioToDecibels(amplitude / b[k]!));
    return db <= largest ? largest : db;
  }, 0);
}

function clippingPeakVolts(family: CircuitProgram, nominalPeakVolts: number): number {
  const coarsest: CircuitProgram = { ...family, instances: family.instances.filter(({ subSteps }) => subSteps === 1) };
  const clipping = findClipping(coarsest, {
    referencePeakVolts: nominalPeakVolts * decibelsToRatio(-nominalDbu), lowestDb: lowestDbu, highestDb: highestDbu, firstDb: nominalDbu, coarseDb: 4, fineDb: 0.5,
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
