/** What is kept between visits but never undone: the stage open, what is on trial, loop, probe, look, keys. Pure. */
import { marksOf, stageByKey, withLive, withSession, withStaleMatch } from './changes.ts';
import { keyConflict } from './keys.ts';
import { isSheetKey } from './sheets.ts';
import type { Action, BenchState } from './state.ts';

export function reduceSession(state: BenchState, action: Action): BenchState {
  switch (action.kind) {
    case 'open-stage':
      return isSheetKey(action.stageKey) || stageByKey(state.setting.path, action.stageKey) ? withSession(state, { openStageKey: action.stageKey }) : state;
    case 'on-trial': {
      const { onTrial } = action;
      if (onTrial.kind === 'path') return withLive(withStaleMatch(withSession(state, { onTrial })), { trialIn: true, interfaced: null });
      const stage = stageByKey(state.setting.path, onTrial.key);
      return stage ? withLive(withStaleMatch(withSession(state, { onTrial })), { trialIn: onTrial.kind === 'without' || stage.inCircuit, interfaced: null }) : state;
    }
    case 'loop':
      return action.loop === state.session.loop ? state : withStaleMatch(withSession(state, { loop: action.loop, region: null }));
    case 'region': {
      const { region } = action;
      if (region !== null && !(region.startSeconds >= 0 && region.endSeconds > region.startSeconds)) return state;
      return withStaleMatch(withSession(state, { region }));
    }
    case 'probe': {
      const { frequencyHz, levelDbu } = action;
      if (!(frequencyHz >= 20 && frequencyHz <= 20_000) || !(levelDbu >= -60 && levelDbu <= 30)) return state;
      return withSession(state, { probe: { frequencyHz, levelDbu } });
    }
    case 'scope':
      return withSession(state, { scope: action.scope });
    case 'show-phase':
      return withSession(state, { ledgerShowsPhase: action.shown });
    case 'hold-harmonics': {
      const released = withSession(state, { harmonicsHeld: action.held });
      const { harmonicsBehindHold: behind } = state.live;
      return action.held || !behind ? released : withLive(released, { harmonics: behind, harmonicsBehindHold: null });
    }
    case 'keep-marks':
      return withSession(state, { keptMarks: state.live.gestureMarks ?? marksOf(state.live.harmonics) });
    case 'drop-marks':
      return withSession(state, { keptMarks: null });
    case 'series':
      return withSession(state, { series: action.series });
    case 'look':
      return withSession(state, { look: action.look });
    case 'parts-list':
      return withSession(state, { partsListChosen: action.chosen });
    case 'margin':
      return withSession(state, { marginOpen: action.open });
    case 'keys':
      return keyConflict(action.keys.letters) ? state : withSession(state, { keys: action.keys });
    case 'shelf':
      return withLive(state, { shelf: action.shelf });
    case 'whole-page':
      return withLive(state, { wholePage: action.page, shelf: null });
    case 'go-to':
      return withLive(state, { goToOpen: action.open });
    default:
      return state;
  }
}
