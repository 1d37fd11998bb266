import type { PlanRequest } from '../messages.ts';

/** Whether two requests ask for the same running path: stages, values, joints, what is on trial, rate. */
export function samePath(a: PlanRequest, b: PlanRequest): boolean {
  return (a.path === b.path || JSON.stringify(a.path) === JSON.stringify(b.path))
    && JSON.stringify(a.joints) === JSON.stringify(b.joints) && JSON.stringify(a.onTrial) === JSON.stringify(b.onTrial) && a.baseRateHz === b.baseRateHz;
}
