import { oversamplingFactors, type OversamplingFactor, type PathPlan } from '../../path/index.ts';

/** A plan for a loop of this rate. A circuit by itself has no base rate but the rate it runs at: the loop then comes up to that. Throws RangeError where it cannot. */
export function planAtRate(plan: PathPlan, rateHz: number): PathPlan {
  const factor = (plan.baseRateHz * plan.oversamplingFactor) / rateHz;
  if (!oversamplingFactors.some((known) => known === factor)) {
    throw new RangeError(`the loop: expected a rate of which the circuit's ${plan.baseRateHz * plan.oversamplingFactor} Hz is 1, 2, 4, 8 or 16 times, got ${rateHz} Hz`);
  }
  return { ...plan, baseRateHz: rateHz, oversamplingFactor: factor as OversamplingFactor };
}
