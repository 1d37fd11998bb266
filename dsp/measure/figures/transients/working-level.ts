import type { PlannedStage } from '../../../path/index.ts';
import type { FigureSubject } from '../contract.ts';
import { coherentTone, plannedIndex, steadyTone } from '../tone.ts';

/** What is measured and how strongly it is driven. */
export interface Driven {
  readonly stages: readonly PlannedStage[];
  /** Peak volts into it. */
  readonly peakVolts: number;
}

/** Frequency at which a stage's working level is looked for, Hz. */
export const workingHz = 1000;

/** The whole path, driven with the source's peak volts; or a stage alone, driven as strongly as a sine of 1 kHz with that peak reaches it in the path. Throws RangeError where there is no steady state. */
export function* drivenAt(subject: FigureSubject, peakVolts: number): Generator<undefined, Driven> {
  const target = plannedIndex(subject);
  const { stages } = subject.plan;
  if (target < 0) return { stages, peakVolts };
  if (target === 0) return { stages: [stages[0]!], peakVolts };
  const steady = yield* steadyTone(subject, { frequency: coherentTone(subject, workingHz), peakVolts });
  return { stages: [stages[target]!], peakVolts: steady.inputPeakVolts };
}
