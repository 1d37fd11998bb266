import type { PathSetting } from './contract.ts';
import { planPath, type PlanOptions } from './plan-path.ts';
import type { PairPlan, PathPlan, TrialPlan } from './plan.ts';

/** One of two whole paths that are compared. */
export interface TrialSide {
  readonly path: PathSetting;
  /** Verdicts of the loading probe, as for `planPath`. */
  readonly joints?: PlanOptions['joints'];
}

export function isPairPlan(plan: TrialPlan): plan is PairPlan {
  return 'kind' in plan;
}

/** Every path of a plan. */
export function pathsOf(plan: TrialPlan): readonly PathPlan[] {
  return isPairPlan(plan) ? [plan.in, plan.out] : [plan];
}

/** Plans two whole paths to be heard one or the other: `first` where what is on trial is in, `second` where it is out. Off the audio thread; throws PathError. */
export function planSides(first: TrialSide, second: TrialSide, baseRateHz: number, options: Omit<PlanOptions, 'onTrial' | 'joints'> = {}): PairPlan {
  const side = ({ path, joints = null }: TrialSide): PathPlan => planPath(path, baseRateHz, { ...options, joints });
  return pairOf(side(first), side(second));
}

/** Two plans of whole paths, at one base rate, as a pair. */
export function pairOf(first: PathPlan, second: PathPlan): PairPlan {
  if (first.baseRateHz !== second.baseRateHz) throw new RangeError(`pair: expected one base rate, got ${first.baseRateHz} and ${second.baseRateHz} Hz`);
  // Nobody hears the source past either path.
  return { kind: 'pair', baseRateHz: first.baseRateHz, in: { ...first, direct: null }, out: { ...second, direct: null }, trialPolarity: first.trialPolarity === second.trialPolarity ? 1 : -1 };
}
