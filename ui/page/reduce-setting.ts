/** What changes the setting: values, stages in their places, calibration, title. Pure. */
import { defaultValues, stageById } from '../../dsp/stages/index.ts';
import { acceptable, replaceStage, stageByKey, withExistingStages, withLive, withMessage, withPath } from './changes.ts';
import { reduceSearch } from './search.ts';
import { isSheetKey, tableOf, valuesOf, withSheet, withValues } from './sheets.ts';
import type { Action, BenchState } from './state.ts';

/** What the page is laid out for: no stage is inserted beyond. A file may hold more; all of it plays, and the strip says so. */
export const mostStages = 10;

type SetValue = Extract<Action, { kind: 'set-value' }>;

export function reduceSetting(state: BenchState, action: Action): BenchState {
  const { path } = state.setting;
  switch (action.kind) {
    case 'set-value':
      return setValue(state, action);
    case 'refuse-value':
      return withLive(state, { refusals: { ...state.live.refusals, [`${action.stageKey}.${action.parameter}`]: action.sentence } });
    case 'search': case 'turn-down':
      return reduceSearch(state, action);
    case 'stage-in-out': {
      const stage = stageByKey(path, action.stageKey);
      if (!stage || stage.inCircuit === action.inCircuit) return state;
      const changed = withPath(state, replaceStage(path, stage.key, { inCircuit: action.inCircuit }));
      const { onTrial } = state.session;
      return onTrial.kind === 'stage' && onTrial.key === stage.key ? withLive(changed, { trialIn: action.inCircuit }) : changed;
    }
    case 'reverse-polarity': {
      const stage = stageByKey(path, action.stageKey);
      return stage ? withPath(state, replaceStage(path, stage.key, { reversed: !stage.reversed })) : state;
    }
    case 'join-stage': {
      const stage = stageByKey(path, action.stageKey);
      if (!stage || stage.joined === action.joined) return state;
      return withPath(state, replaceStage(path, stage.key, { joined: action.joined }));
    }
    case 'sheet':
      return withPath(state, withSheet(path, action.sheet, action.on));
    case 'move-stage':
      return moveStage(state, action.stageKey, action.toIndex);
    case 'insert-stage':
      return insertStage(state, action.stage, action.atIndex);
    case 'remove-stage':
      return removeStage(state, action.stageKey);
    case 'calibration':
      return action.fullScaleDbu === path.fullScaleDbu ? state : withPath(state, { ...path, fullScaleDbu: action.fullScaleDbu });
    case 'rate-factor':
      return action.factor === path.oversamplingFactor ? state : withPath(state, { ...path, oversamplingFactor: action.factor });
    case 'ladder':
      return action.ladder === path.ladder ? state : withPath(state, { ...path, ladder: action.ladder });
    case 'rename': {
      const title = action.title.trim().slice(0, 200);
      return title === '' || title === state.setting.title ? state : { ...state, setting: { ...state.setting, title } };
    }
    default:
      return state;
  }
}

function setValue(state: BenchState, action: SetValue): BenchState {
  const { path } = state.setting;
  const { stageKey } = action;
  const before = valuesOf(path, stageKey);
  const parameter = before && tableOf(path, stageKey)!.parameters.find(({ id }) => id === action.parameter);
  const value = parameter && acceptable(parameter, action.value);
  if (!before || value === undefined || value === null) return state;
  const name = `${stageKey}.${action.parameter}`;
  const { [name]: _, ...otherRefusals } = state.live.refusals;
  const accepted = name in state.live.refusals ? withLive(state, { refusals: otherRefusals }) : state;
  if (before[action.parameter] === value) return accepted;
  const values = { ...before, [action.parameter]: value };
  const refusal = isSheetKey(stageKey) ? null : stageById(stageByKey(path, stageKey)!.stage).refuse(values);
  if (refusal !== null) return withLive(state, { refusals: { ...state.live.refusals, [name]: refusal } });
  return withPath(accepted, withValues(path, stageKey, values));
}

function moveStage(state: BenchState, key: string, toIndex: number): BenchState {
  const { path } = state.setting;
  const from = path.stages.findIndex((stage) => stage.key === key);
  const to = Math.min(path.stages.length - 1, Math.max(0, Math.trunc(toIndex)));
  if (from < 0 || !(from !== to)) return state;
  const stages = path.stages.slice();
  stages.splice(to, 0, ...stages.splice(from, 1));
  const { shortTitle } = stageById(stages[to]!.stage);
  return withMessage(withPath(state, { ...path, stages }), `${shortTitle} moved to place ${to + 1} of ${stages.length}`);
}

function insertStage(state: BenchState, stageId: string, atIndex: number): BenchState {
  const { path } = state.setting;
  if (path.stages.length >= mostStages) return withMessage(state, `The path holds ${mostStages} stages; remove one to insert another.`, true);
  const key = freshKey(path.stages.map((stage) => stage.key));
  const stages = path.stages.slice();
  const place = Math.min(stages.length, Math.max(0, Math.trunc(atIndex)));
  stages.splice(place, 0,
    { key, stage: stageId, inCircuit: true, reversed: false, joined: false, values: { ...defaultValues(stageById(stageId)) } });
  const inserted = withMessage(withPath(state, { ...path, stages }), `${place + 1} ${stageById(stageId).shortTitle} inserted`);
  return { ...inserted, session: { ...inserted.session, openStageKey: key } };
}

/** The next stage (or the one before) opens in place of the removed one. */
function removeStage(state: BenchState, key: string): BenchState {
  const { path } = state.setting;
  const index = path.stages.findIndex((stage) => stage.key === key);
  if (index < 0) return state;
  if (path.stages.length === 1) return withMessage(state, 'The path keeps one stage; take it out of circuit instead.', true);
  const stages = path.stages.filter((stage) => stage.key !== key);
  const neighbour = stages[Math.min(index, stages.length - 1)]!.key;
  const openStageKey = state.session.openStageKey === key ? neighbour : state.session.openStageKey;
  const removed = withExistingStages(withPath({ ...state, session: { ...state.session, openStageKey } }, { ...path, stages }));
  return withMessage(removed, `${index + 1} ${stageById(path.stages[index]!.stage).shortTitle} removed`);
}

function freshKey(taken: readonly string[]): string {
  let number = taken.length + 1;
  while (taken.includes(`s${number}`)) number += 1;
  return `s${number}`;
}
