import type { StageCounters } from '../contract.ts';

/** Counters of a runner that has not run. */
export function freshCounters(): StageCounters {
  return { samples: 0, evaluations: 0, rescues: 0, capHits: 0, nonFinite: 0, peakOutputVolts: 0 };
}

/** Audio thread: allocates nothing. */
export function clearCounters(counters: StageCounters): void {
  counters.samples = 0;
  counters.evaluations = 0;
  counters.rescues = 0;
  counters.capHits = 0;
  counters.nonFinite = 0;
  counters.peakOutputVolts = 0;
}
