/** Four drafts of whole settings, and two of them (or one and the bench) as the pair on trial. Pure. */
import { withLive, withMessage, withOtherPair, withSession } from './changes.ts';
import { draftNames, type Draft, type DraftName, type Pair } from './drafts-state.ts';
import { hearsBench, isPair, sideWords } from './pair.ts';
import { shortened } from './sentence.ts';
import type { Action, BenchState } from './state.ts';

/** As many characters as a setting's name. */
const longestTitle = 200;

/** All but taking up, which needs the history. `today`: ISO date. */
export function reduceDrafts(state: BenchState, action: Action, today: string): BenchState {
  switch (action.kind) {
    case 'lay-down': {
      const laid = withDraft(state, action.draft, { setting: state.setting, laidDown: today });
      return withMessage(laid, `laid down in ${action.draft}: ${shortened(state.setting.title)}`);
    }
    case 'rename-draft': {
      const draft = state.session.drafts[action.draft];
      const title = action.title.trim().slice(0, longestTitle);
      if (!draft || title === '' || title === draft.setting.title) return state;
      return withSession(state, { drafts: { ...state.session.drafts, [action.draft]: { ...draft, setting: { ...draft.setting, title } } } });
    }
    case 'clear-draft':
      return state.session.drafts[action.draft] === null ? state : withMessage(withDraft(state, action.draft, null), `draft ${action.draft} is empty`);
    case 'pair-on-trial':
      return withPair(state, action.pair);
    case 'on-trial':
      return state.session.pair === null ? state : withOtherPair(withSession(state, { pair: null }));
    default:
      return state;
  }
}

/** A pair that loses a side leaves the whole path on trial. */
function withDraft(state: BenchState, name: DraftName, draft: Draft | null): BenchState {
  const changed = withSession(state, { drafts: { ...state.session.drafts, [name]: draft } });
  const { pair } = state.session;
  if (pair === null || (pair.in !== name && pair.out !== name)) return changed;
  return draft === null ? withPair(changed, null) : withOtherPair(changed);
}

function withPair(state: BenchState, pair: Pair | null): BenchState {
  if (pair !== null && !isPair(state, pair)) {
    const empty = draftNames.find((name) => (pair.in === name || pair.out === name) && state.session.drafts[name] === null);
    return empty ? withMessage(state, `Draft ${empty} is empty: lay the bench down in it first.`) : state;
  }
  const before = state.session.pair;
  if (before === pair || (before && pair && before.in === pair.in && before.out === pair.out)) return state;
  const on = withLive(withOtherPair(withSession(state, { pair, onTrial: { kind: 'path' } })), { trialIn: true, interfaced: null });
  return withMessage(on, pair === null ? 'whole path on trial' : `on trial: ${sideWords(pair.in)} against ${sideWords(pair.out)}${hearsBench({ pair }) ? '' : '; the bench is not heard'}`);
}
