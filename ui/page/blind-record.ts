/** A blind comparison that has ended, as its file. Pure. */
import { writeBlindComparison, type ComparedGains } from '../../dsp/setting/index.ts';
import type { BlindState } from './blind-state.ts';
import { comparedOf } from './compared-of.ts';
import type { BenchState } from './state.ts';

/** Null where there is nothing whole to write. `date`: of the day, ISO. */
export function writeBlindRecord(state: BenchState, { record, excerptMatch }: Extract<BlindState, { readonly kind: 'ended' }>, date: string): string | null {
  const { excerpts, match } = state.live;
  const matched = excerptMatch.kind === 'matched' ? excerptMatch : null;
  const gains: ComparedGains | null = matched ? { ...matched, residualDb: matched.worst.residualDb } : match.kind === 'matched' ? match : null;
  if (gains === null) return null;
  return writeBlindComparison({
    date, compared: comparedOf(state, gains),
    excerpts: matched ? excerpts.map((excerpt, index) => ({ ...excerpt, residualDb: matched.residualsDb[index]! })) : [],
    plan: record.plan, stopped: record.stopped, trials: record.trials,
  });
}
