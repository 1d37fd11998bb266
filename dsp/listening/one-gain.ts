/** One static gain for several excerpts: what it leaves between the two sides in each of them. */

/** Gains that stay as they are through a whole comparison; the louder side is turned down. */
export interface OneGain {
  readonly inGainDb: number;
  readonly outGainDb: number;
  /** In circuit less out of circuit under these gains, dB, by excerpt. */
  readonly residualsDb: readonly number[];
  /** The one that is furthest from 0, from 0 as an index, and its size, dB. */
  readonly worst: { readonly index: number; readonly residualDb: number };
}

/**
 * The gain whose worst residual is the least possible: half way between the excerpts that need most and least. No other single gain keeps every excerpt nearer, so where its worst is
 * too large, these excerpts cannot be compared together. `matches`: of each excerpt by itself, as the level match has it (a gate at −70 LUFS may shift a residual where an excerpt is
 * hardly louder than that). Throws RangeError for none.
 */
export function oneGain(matches: readonly { readonly inGainDb: number; readonly outGainDb: number }[]): OneGain {
  if (matches.length === 0) throw new RangeError('excerpts: expected at least 1, got 0');
  const needed = matches.map(({ inGainDb, outGainDb }) => inGainDb - outGainDb);
  const relativeDb = (Math.min(...needed) + Math.max(...needed)) / 2;
  const residualsDb = needed.map((gainDb) => relativeDb - gainDb + 0);
  const index = residualsDb.reduce((worst, residual, at) => (Math.abs(residual) > Math.abs(residualsDb[worst]!) ? at : worst), 0);
  return { inGainDb: Math.min(0, relativeDb) + 0, outGainDb: Math.min(0, -relativeDb) + 0, residualsDb, worst: { index, residualDb: residualsDb[index]! } };
}
