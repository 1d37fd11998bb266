/** What solvers count, one column a channel; preallocated, so that another thread may be told and nothing is made while audio runs. */
export interface SolverReport {
  readonly samples: Float64Array;
  /** Device evaluations. */
  readonly evaluations: Float64Array;
  /** Samples that plain Newton could not solve. */
  readonly rescues: Float64Array;
  /** Samples that the rescue could not solve either: their result is approximate. */
  readonly capHits: Float64Array;
  /** Inputs, states or outputs that were NaN or infinite. */
  readonly nonFinite: Float64Array;
  /** Most device evaluations in one sample. */
  readonly maximumEvaluations: Float64Array;
}

export function createSolverReport(channels: number): SolverReport {
  return {
    samples: new Float64Array(channels),
    evaluations: new Float64Array(channels),
    rescues: new Float64Array(channels),
    capHits: new Float64Array(channels),
    nonFinite: new Float64Array(channels),
    maximumEvaluations: new Float64Array(channels),
  };
}

/** Audio thread: allocates nothing. */
export function clearSolverReport(report: SolverReport): void {
  report.samples.fill(0);
  report.evaluations.fill(0);
  report.rescues.fill(0);
  report.capHits.fill(0);
  report.nonFinite.fill(0);
  report.maximumEvaluations.fill(0);
}
