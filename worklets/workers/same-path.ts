import type { PlanRequest } from '../messages.ts';

/** Whether two requests ask for the same path on the bench, and for the same to be heard: stages, values, joints, what is on trial, rate. */
export function samePath(a: PlanRequest, b: PlanRequest): boolean {
  return sameBench(a, b) && samePair(a, b);
}

/** Whether both sides of what is on trial are the same. Of two drafts the path on the bench is neither. */
export function sameTrial(a: PlanRequest, b: PlanRequest): boolean {
  return samePair(a, b) && (a.pair === null ? sameBench(a, b) : a.baseRateHz === b.baseRateHz);
}

function sameBench(a: PlanRequest, b: PlanRequest): boolean {
  return (a.path === b.path || JSON.stringify(a.path) === JSON.stringify(b.path))
    && JSON.stringify(a.joints) === JSON.stringify(b.joints) && JSON.stringify(a.onTrial) === JSON.stringify(b.onTrial) && a.baseRateHz === b.baseRateHz;
}

function samePair(a: PlanRequest, b: PlanRequest): boolean {
  return a.pair === b.pair || JSON.stringify(a.pair) === JSON.stringify(b.pair);
}
