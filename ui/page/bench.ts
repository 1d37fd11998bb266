/** The bench's state machine: `reduce` is pure; `Bench` keeps the present state, its history and its listeners. */
import { parseSetting, readySetting, SettingError } from '../../dsp/setting/index.ts';
import type { Setting } from '../../dsp/setting/index.ts';
import { reduceBlind } from './reduce-blind.ts';
import { marksOf, withExistingStages, withLive, withMessage, withPath, withSession } from './changes.ts';
import { freezeFileName } from './freeze.ts';
import { back, beginsGesture, closeStep, differs, dragStart, emptyHistory, forward, record, searchStart } from './history.ts';
import type { History } from './history.ts';
import { reduceDemonstration } from './reduce-demonstration.ts';
import { reduceDifference } from './reduce-difference.ts';
import { reduceDrafts } from './reduce-drafts.ts';
import { reduceFigures } from './reduce-figures.ts';
import { reduceLiveInput, refusedByLiveInput } from './reduce-live-input.ts';
import { reduceHearing } from './reduce-hearing.ts';
import { reduceLive, withFirstLook } from './reduce-live.ts';
import { reduceMaterial, withSettingAtRate } from './reduce-material.ts';
import { reduceReport } from './reduce-report.ts';
import { reduceSession } from './reduce-session.ts';
import { reduceSessionLog } from './reduce-session-log.ts';
import { reduceSetting } from './reduce-setting.ts';
import { reduceSitting } from './reduce-sitting.ts';
import { reduceTicket } from './reduce-ticket.ts';
import { shortened } from './sentence.ts';
import { tellSubject } from './tell.ts';
import type { Action, BenchState } from './state.ts';

/** Everything but undo, redo, freeze, thaw and the cancelling of a drag, which need the history. */
export function reduce(state: BenchState, action: Action, today = ''): BenchState {
  const refusal = refusedByLiveInput(state, action);
  if (refusal !== null) return withMessage(state, refusal);
  return withFirstLook(state, reduceReport(reduceSitting(reduceDrafts(reduceDemonstration(reduceMaterial(reduceLiveInput(reduceHearing(reduceLive(reduceDifference(reduceBlind(reduceFigures(reduceSession(reduceSessionLog(reduceTicket(reduceSetting(state, action), action, today), action), action), action), action, state.session.loop), action), action), action, today), action, state.session.loop), action, state.session.loop), action), action, today), action), action, today), action);
}

/** State with its history and with the setting as it was last frozen or thawed. */
export interface Workbook {
  readonly state: BenchState;
  readonly history: History;
  readonly frozen: Setting;
}

export interface Clock {
  /** Milliseconds from any origin, never running backwards. */
  nowMs(): number;
  /** ISO date. */
  today(): string;
}

/** One action on the whole workbook. Pure, given the time. */
export function advance(book: Workbook, action: Action, nowMs: number, today: string): Workbook {
  switch (action.kind) {
    case 'undo': return travel(book, back, 'undone', 'Nothing to undo.');
    case 'redo': return travel(book, forward, 'redone', 'Nothing to redo.');
    case 'freeze': return freeze(book, action);
    case 'thaw': return thaw(book, action, nowMs);
    case 'take-up': return takeUp(book, action, nowMs);
    case 'ready-path': return replaceSetting(book, readySetting(action.id), action, nowMs);
    case 'leave-search': return leaveSearch(book);
    case 'open-stage': {
      const away = book.state.live.search !== null && book.state.live.search.stageKey !== action.stageKey;
      const there = away ? leaveSearch(book) : book;
      return keep(there, reduce(there.state, action, today), action, nowMs);
    }
    case 'set-value': {
      const start = action.phase === 'cancel' ? dragStart(book.history, action.stageKey, action.parameter) : null;
      if (start) {
        const restored = withLive(withPath(book.state, start.path), { gestureMarks: null });
        return settle({ ...book, state: restored, history: { ...book.history, open: null } });
      }
      if (action.phase === 'cancel') return searchStart(book.history) ? leaveSearch(book) : book;
      const marks = beginsGesture(book.history, action, nowMs) ? marksOf(book.state.live.harmonics) : undefined;
      const next = reduce(book.state, action, today);
      return keep(book, marks === undefined ? next : withLive(next, { gestureMarks: marks }), action, nowMs);
    }
    default: return keep(book, reduce(book.state, action, today), action, nowMs);
  }
}

/** Everything as it was before the search. */
function leaveSearch(book: Workbook): Workbook {
  const start = searchStart(book.history);
  if (!start) return book;
  return settle({ ...book, state: withMessage(withPath(book.state, start.path), 'search left, the section is as it was'), history: { ...book.history, open: null } });
}

function keep(book: Workbook, state: BenchState, action: Action, nowMs: number): Workbook {
  return settle({ ...book, state, history: record(book.history, book.state.setting, state.setting, action, nowMs) });
}

/** The figures that follow from history: whether there is something to undo, to redo, to freeze. */
function settle(given: Workbook): Workbook {
  const { history, frozen } = given;
  // A search is open in the history or it is over.
  const book = given.state.live.search !== null && searchStart(history) === null ? { ...given, state: withLive(given.state, { search: null }) } : given;
  const state = withSettingAtRate(book.state);
  const { open } = history;
  const canUndo = history.past.length > 0 || ((open?.kind === 'drag' || open?.kind === 'search') && differs(open.start, state.setting));
  const canRedo = history.future.length > 0;
  const changedSinceFrozen = differs(frozen, state.setting);
  const { live } = state;
  if (live.canUndo === canUndo && live.canRedo === canRedo && live.changedSinceFrozen === changedSinceFrozen) return state === book.state ? book : { ...book, state };
  return { ...book, state: withLive(state, { canUndo, canRedo, changedSinceFrozen }) };
}

function travel(book: Workbook, way: typeof back, word: string, nothing: string): Workbook {
  const closed = closeStep(book.history, book.state.setting);
  const found = way(closed);
  if (!found) return settle({ ...book, history: closed, state: withMessage(book.state, nothing) });
  const { entry } = found;
  const setting = word === 'undone' ? entry.before : entry.after;
  const restored = withExistingStages({ ...withPath(book.state, setting.path), setting });
  const state = withMessage(withLive(restored, { refusals: {}, gestureMarks: null }), `${word}, ${tellSubject(entry.subject, setting)}`);
  return settle({ ...book, history: found.history, state });
}

function freeze(book: Workbook, action: Action): Workbook {
  const history = closeStep(book.history, book.state.setting);
  const frozen = book.state.setting;
  const state = withMessage(book.state, `Frozen as ${freezeFileName(frozen.title)}`);
  return settle({ history, frozen, state: withFirstLook(book.state, state, action) });
}

function thaw(book: Workbook, action: Extract<Action, { kind: 'thaw' }>, nowMs: number): Workbook {
  let setting: Setting;
  try {
    setting = parseSetting(action.text);
  } catch (error) {
    if (!(error instanceof SettingError)) throw error;
    return { ...book, state: withMessage(book.state, `${shortened(action.fileName)} was not thawed. ${shortened(error.message, 300)}`, true) };
  }
  return replaceSetting(book, setting, action, nowMs);
}

/** A draft on the bench, as one step; what was frozen stays so, and what is on trial. */
function takeUp(book: Workbook, action: Extract<Action, { kind: 'take-up' }>, nowMs: number): Workbook {
  const draft = book.state.session.drafts[action.draft];
  if (!draft) return { ...book, state: withMessage(book.state, `Draft ${action.draft} is empty.`) };
  const { setting } = draft;
  const state = withMessage(withReplaced(book.state, setting), `draft ${action.draft} on the bench: ${shortened(setting.title)}`);
  return settle({ ...book, state, history: record(closeStep(book.history, book.state.setting), book.state.setting, setting, action, nowMs) });
}

/** Keys may be those of other stages: what was computed of these is not of the new ones. */
function withReplaced(state: BenchState, setting: Setting): BenchState {
  const changed = withExistingStages({ ...withPath(state, setting.path), setting });
  return withLive(changed, { refusals: {}, gestureMarks: null, reports: {}, jointLevelsDbu: {}, headroom: null, supplied: null, interfaced: null });
}

/** The whole setting in the place of the one on the bench, as one step; it counts as frozen. */
function replaceSetting(book: Workbook, setting: Setting, action: Extract<Action, { kind: 'thaw' | 'ready-path' }>, nowMs: number): Workbook {
  const changed = withReplaced(book.state, setting);
  const words = `${action.kind === 'thaw' ? 'Thawed' : 'On the bench:'} ${shortened(setting.title)}`;
  const live = { trialIn: book.state.session.pair === null || book.state.live.trialIn, shelf: null };
  const state = withMessage(withLive(action.kind === 'ready-path' ? withSession(changed, { openStageKey: setting.path.stages[0]!.key }) : changed, live), words);
  const history = record(closeStep(book.history, book.state.setting), book.state.setting, setting, action, nowMs);
  return settle({ history, frozen: setting, state });
}

export type BenchListener = (before: BenchState, after: BenchState, action: Action) => void;

export class Bench {
  #book: Workbook;
  readonly #clock: Clock;
  readonly #listeners = new Set<BenchListener>();
  readonly #waiting: Action[] = [];
  #busy = false;

  /** @param frozen the setting as last frozen; "changed since frozen" compares with it */
  constructor(initial: BenchState, clock: Clock, frozen: Setting = initial.setting) {
    this.#clock = clock;
    this.#book = settle({ state: initial, history: emptyHistory, frozen });
  }

  get state(): BenchState {
    return this.#book.state;
  }

  /** The setting as it was last frozen or thawed. */
  get frozen(): Setting {
    return this.#book.frozen;
  }

  /** A value is being dragged: nothing is spoken meanwhile. */
  get dragging(): boolean {
    return this.#book.history.open?.kind === 'drag';
  }

  /** An action sent by a listener waits until the one before it has been told to everybody. */
  dispatch(action: Action): void {
    this.#waiting.push(action);
    if (this.#busy) return;
    this.#busy = true;
    try {
      for (let next = this.#waiting.shift(); next; next = this.#waiting.shift()) this.#perform(next);
    } finally {
      this.#busy = false;
    }
  }

  /** Listeners hear every action, also one that changed nothing. Returns the way to stop listening. */
  subscribe(listener: BenchListener): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  #perform(action: Action): void {
    const before = this.#book.state;
    this.#book = advance(this.#book, action, this.#clock.nowMs(), this.#clock.today());
    for (const listener of this.#listeners) listener(before, this.#book.state, action);
  }
}
