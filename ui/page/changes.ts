/** Small steps that several reducers share. All pure. */
import type { PathSetting, PathStage } from '../../dsp/path/index.ts';
import type { Setting } from '../../dsp/setting/index.ts';
import type { Parameter } from '../../dsp/stages/index.ts';
import { hearsBench } from './pair.ts';
import { isSheetKey } from './sheets.ts';
import type { BenchState, HarmonicReadings, LiveState, SessionState } from './state.ts';

export function withLive(state: BenchState, live: Partial<LiveState>): BenchState {
  return { ...state, live: { ...state.live, ...live } };
}

export function withSession(state: BenchState, session: Partial<SessionState>): BenchState {
  return { ...state, session: { ...state.session, ...session } };
}

/**
 * A new path: a new revision, a match that no longer holds, rules not chosen yet, and no fault until the new circuit shows one. Verdicts on joints stand
 * until they are given anew, for a change of value must not part what is joined; where the stages are others there are none.
 */
export function withPath(state: BenchState, path: PathSetting): BenchState {
  const { setting } = state;
  if (path === setting.path) return state;
  const live = { ...state.live, revision: state.live.revision + 1, fault: null };
  const before = setting.path.stages;
  const sameStages = path.stages.length === before.length && path.stages.every(({ key, inCircuit }, k) => key === before[k]!.key && inCircuit === before[k]!.inCircuit);
  const changed = { ...state, setting: { ...setting, path, rules: null, joints: sameStages ? setting.joints : null }, live };
  return hearsBench(state.session) ? withNewTrial(changed) : changed;
}

/** The path that a setting was made of, with the verdicts on its joints; title and notes stay those of the page. */
export function withMadePath(state: BenchState, { path, joints }: Setting): BenchState {
  const changed = withPath(state, path);
  if (changed === state) return state;
  const made = withExistingStages({ ...changed, setting: { ...changed.setting, joints } });
  // Keys may be those of other stages: what was computed of these is not of the new ones.
  return withLive(made, { refusals: {}, gestureMarks: null, reports: {}, jointLevelsDbu: {}, headroom: null, supplied: null, interfaced: null });
}

/** What is on trial has changed with the newest revision. */
function withNewTrial(state: BenchState): BenchState {
  return withStaleMatch(withLive(state, { trialRevision: state.live.revision }));
}

/** Other paths on trial, of the same bench: a revision of their own. */
export function withOtherPair(state: BenchState): BenchState {
  return withNewTrial(withLive(state, { revision: state.live.revision + 1 }));
}

/** The level match was measured on something else; a match that is off stays off. */
export function withStaleMatch(state: BenchState): BenchState {
  return state.live.match.kind === 'off' || state.live.match.kind === 'stale' ? state : withLive(state, { match: { kind: 'stale' } });
}

/** One sentence for the state line. */
export function withMessage(state: BenchState, text: string, urgent = false): BenchState {
  return withLive(state, { message: { text, urgent, serial: (state.live.message?.serial ?? 0) + 1 } });
}

export function stageByKey(path: PathSetting, key: string): PathStage | undefined {
  return path.stages.find((stage) => stage.key === key);
}

export function replaceStage(path: PathSetting, key: string, change: Partial<PathStage>): PathSetting {
  return { ...path, stages: path.stages.map((stage) => (stage.key === key ? { ...stage, ...change } : stage)) };
}

/** Levels in dB by order, as marks on the bars; orders under the numerical floor have none. */
export function marksOf(harmonics: HarmonicReadings | null): Record<number, number> | null {
  if (!harmonics || harmonics.refusal !== null) return null;
  return Object.fromEntries(harmonics.figures.filter(({ db }) => Number.isFinite(db)).map(({ order, db }) => [order, db]));
}

/** Session and trial after stages were added, removed or replaced: what they name must exist. */
export function withExistingStages(state: BenchState): BenchState {
  const { stages } = state.setting.path;
  const { openStageKey, onTrial } = state.session;
  const openExists = isSheetKey(openStageKey) || stages.some(({ key }) => key === openStageKey);
  const trialExists = onTrial.kind === 'path' || stages.some(({ key }) => key === onTrial.key);
  if (openExists && trialExists) return state;
  const settled = withSession(state, {
    openStageKey: openExists ? openStageKey : stages[0]?.key ?? '',
    onTrial: trialExists ? onTrial : { kind: 'path' },
  });
  return trialExists ? settled : withLive(settled, { trialIn: true });
}

/** The value brought into its range; undefined when it cannot be one of this parameter. */
export function acceptable(parameter: Parameter, value: number | string): number | string | undefined {
  if (parameter.kind === 'choice') return parameter.options.some(({ id }) => id === value) ? value : undefined;
  if (typeof value !== 'number' || Number.isNaN(value)) return undefined;
  return Math.min(parameter.maximum, Math.max(parameter.minimum, value)) + 0;
}
