import { chooseFrequency, cosineDrive, findClipping, type CircuitProgram } from '../circuit/index.ts';
import { decibelsToRatio, ratioToDecibels } from '../math/index.ts';
import { planPair, probedJoints, type PathSetting, type PlannedPair, type PlannedStage } from '../path/index.ts';
import { dbuToPeakVolts } from '../stages/index.ts';
import { stageHarmonics, steadyStage } from './steady-path.ts';

/** Whether two neighbours are to be solved in one circuit, and by how much the two ways differ. */
export interface JointVerdict {
  readonly joined: boolean;
  /** Largest difference of level or of a harmonic's ratio, dB; `immeasurableDb` where one of the ways has no steady state: then nothing is known and nothing is joined. */
  readonly differenceDb: number;
}

/** The two ways may differ by this much. */
export const jointToleranceDb = 0.005;
export const immeasurableDb = 400;

/** Harmonics under this in both ways are not compared. */
const floorDb = -120;
const orders = [1, 2, 3, 4, 5];

/** Tones, each at a rate at which its fifth harmonic is followed and its period is short. */
const tones = [{ hz: 1000, rateHz: 192_000 }, { hz: 100, rateHz: 48_000 }, { hz: 10_000, rateHz: 384_000 }] as const;
/** Where a circuit has no steady state at the rate of its tone, for the rule is too coarse for it there, it is looked at once more at this one. */
const finestRateHz = 384_000;

const clippingSearch = { referencePeakVolts: dbuToPeakVolts(0), lowestDb: -20, highestDb: 40, coarseDb: 4, fineDb: 0.5 };

/** Verdicts made before, by the identity of the pair. */
export type JointMemory = Map<string, JointVerdict>;

/**
 * The loading probe on the joint before the stage at `index`. One way, the stage's circuit contains the output network of the one before it; the other, both are one
 * circuit. Compared are level and H2 to H5 of 100 Hz, 1 and 10 kHz, at line level and where the pair clips (1 kHz THD reaches 1 %). A function of the setting
 * alone. Null where no two circuits meet. Yields between steady states; throws PathError.
 */
export function* probeJoint(path: PathSetting, index: number, memory?: JointMemory): Generator<void, JointVerdict | null> {
  const first = planPair(path, index, tones[0].rateHz);
  if (first === null) return null;
  const before = memory?.get(first.identity);
  if (before) return before;
  yield;
  const clippingPeakVolts = clippingLevel(first);
  yield;
  let differenceDb = 0;
  for (const { hz, rateHz } of tones) {
    const pair = rateHz === tones[0].rateHz ? first : planPair(path, index, rateHz)!;
    const peaks = clippingPeakVolts === null ? [pair.nominalPeakVolts] : [pair.nominalPeakVolts, clippingPeakVolts];
    let found = yield* differenceOf(pair, hz, rateHz, peaks);
    if (found === immeasurableDb && rateHz < finestRateHz) found = yield* differenceOf(planPair(path, index, finestRateHz)!, hz, finestRateHz, peaks);
    differenceDb = Math.max(differenceDb, found);
    if (differenceDb === immeasurableDb) break;
  }
  const verdict = { joined: differenceDb > jointToleranceDb && differenceDb < immeasurableDb, differenceDb };
  memory?.set(first.identity, verdict);
  return verdict;
}

/** Largest difference at these levels; `immeasurableDb` where one of the ways does not repeat itself. */
function* differenceOf({ apart, joined }: PlannedPair, hz: number, rateHz: number, peaksVolts: readonly number[]): Generator<void, number> {
  const frequency = chooseFrequency(hz, rateHz);
  let differenceDb = 0;
  for (const peakVolts of peaksVolts) {
    const wave = cosineDrive(frequency, peakVolts);
    const oneAfterTheOther = levels(apart, wave, frequency.cycles);
    yield;
    const together = oneAfterTheOther && levels([joined], wave, frequency.cycles);
    yield;
    if (oneAfterTheOther === null || together === null) return immeasurableDb;
    differenceDb = Math.max(differenceDb, Math.min(immeasurableDb, largestDifference(oneAfterTheOther, together)));
  }
  return differenceDb;
}

/** Of all joints of a path, one entry a stage as a setting stores them. Yields the share done. */
export function* probeJoints(path: PathSetting, memory?: JointMemory): Generator<number, (JointVerdict | null)[]> {
  const verdicts: (JointVerdict | null)[] = path.stages.map(() => null);
  const joints = probedJoints(path);
  for (const [done, index] of joints.entries()) {
    const steps = probeJoint(path, index, memory);
    let step = steps.next();
    while (!step.done) {
      yield done / joints.length;
      step = steps.next();
    }
    verdicts[index] = step.value;
  }
  return verdicts;
}

/** Peak at the first stage's input where the pair in one circuit clips; null: it does not. */
function clippingLevel({ joined }: PlannedPair): number | null {
  const { program } = joined.wired;
  if (program.kind !== 'circuit') return null;
  const found = findClipping(program.circuit satisfies CircuitProgram, clippingSearch);
  return found === null ? null : (clippingSearch.referencePeakVolts * decibelsToRatio(found.below.levelDb)) / program.inputGain;
}

/** Level of the fundamental, then of the harmonics against it, dB; null where something does not repeat itself. */
function levels(stages: readonly PlannedStage[], wave: Float64Array, cycles: number): number[] | null {
  let input = wave;
  let amplitudes: ArrayLike<number> = [];
  for (const stage of stages) {
    const solved = steadyStage(stage, { input, cycles });
    if (solved.steady?.oscillates) return null;
    input = solved.output;
    if (stage === stages.at(-1)) ({ amplitudes } = stageHarmonics(solved, cycles, orders));
  }
  return Array.from(amplitudes, (volts, k) => ratioToDecibels(k === 0 ? volts : volts / amplitudes[0]!));
}

function largestDifference(apart: readonly number[], joined: readonly number[]): number {
  return apart.reduce((most, db, k) => (k > 0 && db < floorDb && joined[k]! < floorDb ? most : Math.max(most, Math.abs(db - joined[k]!))), 0);
}
