/** What the thing on trial adds over a region, with how far it may be raised, in steps of a few milliseconds. */
import { addedOnTrialInSteps, differenceRaiseInSteps, type DifferenceRaise } from '../../dsp/measure/loop/index.ts';
import { planPath, planSides, type MatchGains, type TrialSide } from '../../dsp/path/index.ts';
import type { PlanRequest } from '../messages.ts';

export interface DifferenceRequest extends Pick<PlanRequest, 'path' | 'joints' | 'baseRateHz' | 'onTrial' | 'pair'> {
  readonly job: number;
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
export function* differenceInSteps({ path, joints, baseRateHz, onTrial, pair, gains, channels }: DifferenceRequest): Generator<number, FoundDifference> {
  const plan = pair === null ? planPath(silent({ path }).path, baseRateHz, { onTrial, joints }) : planSides(silent(pair[0]), silent(pair[1]), baseRateHz);
  const steps = addedOnTrialInSteps(plan, channels, gains);
  let step = steps.next();
  for (; !step.done; step = steps.next()) yield step.value;
  const { channels: added, heard } = step.value;
  const raising = differenceRaiseInSteps(added, heard, baseRateHz);
  let raise = raising.next();
  for (; !raise.done; raise = raising.next()) yield 1;
  return { channels: added, raise: raise.value.mostDb === null ? null : raise.value };
}

/** Noise would part the two sides and is no part of what is added. */
function silent<Side extends Pick<TrialSide, 'path'>>(side: Side): Side {
  return { ...side, path: { ...side.path, supply: null } };
}
