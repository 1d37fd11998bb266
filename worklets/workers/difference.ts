/** What the thing on trial adds over a region, with how far it may be raised, in steps of a few milliseconds. */
import { addedOnTrialInSteps, differenceRaiseInSteps, type DifferenceRaise } from '../../dsp/measure/loop/index.ts';
import { planPath, type MatchGains, type OnTrial, type PathSetting } from '../../dsp/path/index.ts';
import type { StoredJoint } from '../../dsp/setting/index.ts';

export interface DifferenceRequest {
  readonly job: number;
  readonly path: PathSetting;
  readonly joints: readonly (StoredJoint | null)[] | null;
  readonly baseRateHz: number;
  readonly onTrial: OnTrial;
  readonly gains: MatchGains;
  /** Samples of the region. */
  readonly channels: readonly Float64Array[];
}

/** `raise`: null where nothing is added that could be told from what the method leaves. */
export interface FoundDifference {
  readonly channels: readonly Float64Array[];
  readonly raise: DifferenceRaise | null;
}

/** Yields the share done. Throws PathError, and RangeError with a sentence where there is no music or no rest. */
export function* differenceInSteps({ path, joints, baseRateHz, onTrial, gains, channels }: DifferenceRequest): Generator<number, FoundDifference> {
  // Noise would part the two sides and is no part of what is added.
  const plan = planPath({ ...path, supply: null }, baseRateHz, { onTrial, joints });
  const steps = addedOnTrialInSteps(plan, channels, gains);
  let step = steps.next();
  for (; !step.done; step = steps.next()) yield step.value;
  const { channels: added, heard } = step.value;
  const raising = differenceRaiseInSteps(added, heard, baseRateHz);
  let raise = raising.next();
  for (; !raise.done; raise = raising.next()) yield 1;
  return { channels: added, raise: raise.value.mostDb === null ? null : raise.value };
}
