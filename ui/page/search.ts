/**
 * The searching bell: one section of an equaliser held up, narrow, and swept by ear on the running loop; then turned down to what is needed, or left as if it had never been.
 * An ordinary change of ordinary values, one entry of the history. Pure.
 */
import type { StageValues } from '../../dsp/stages/index.ts';
import { replaceStage, stageByKey, withLive, withPath } from './changes.ts';
import type { Action, BenchState } from './state.ts';

/** What is held up: enough to stand out, narrow enough to tell neighbours apart (common practice, no source). */
export const heldUp = { db: 12, quality: 8 } as const;

export type SearchAction = Extract<Action, { kind: 'search' | 'turn-down' }>;

/** Whether a stage has sections to search with. */
export const hasSections = (values: StageValues): boolean => 'section1Kind' in values;

export function reduceSearch(state: BenchState, action: SearchAction): BenchState {
  return action.kind === 'search' ? beginSearch(state, action.stageKey, action.section) : turnDown(state, action.amountDb);
}

function beginSearch(state: BenchState, stageKey: string, section: number): BenchState {
  const stage = stageByKey(state.setting.path, stageKey);
  const name = `section${section}`;
  if (!stage || !(`${name}Kind` in stage.values)) return state;
  const values = {
    ...stage.values, [`${name}Kind`]: 'bell', [`${name}Db`]: heldUp.db, [`${name}Quality`]: heldUp.quality, [`${name}QualityIs`]: 'half-gain', [`${name}QualityLaw`]: 'constant',
  };
  return withLive(withPath(state, replaceStage(state.setting.path, stageKey, { values })), { search: { stageKey, section } });
}

function turnDown(state: BenchState, amountDb: number): BenchState {
  const { search } = state.live;
  const stage = search && stageByKey(state.setting.path, search.stageKey);
  if (!search || !stage || !Number.isFinite(amountDb)) return state;
  const values = { ...stage.values, [`section${search.section}Db`]: Math.min(heldUp.db, Math.max(-heldUp.db, amountDb)) };
  return withLive(withPath(state, replaceStage(state.setting.path, search.stageKey, { values })), { search: null });
}
