import type { StageCounters } from '../contract.ts';

/** Counters of a runner that has not run. */
export function freshCounters(): StageCounters {
  return { samples: 0, evaluations: 0, rescues: 0, capHits: 0, nonFinite: 0, peakOutputVolts: 0 };
}
