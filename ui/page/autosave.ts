/**
 * What survives a reload: the setting and the session, never the monitor level. What is read back is checked like a file from
 * a stranger; the first tab owns the store (Web Locks), a second one says so and saves nothing.
 */
import { parseSetting, writeSetting } from '../../dsp/setting/index.ts';
import type { Setting } from '../../dsp/setting/index.ts';
import type { Bench } from './bench.ts';
import { readDrafts, writeDrafts } from './drafts-text.ts';
import { readKept, writeKept } from './kept-text.ts';
import { openingLive, openingSession, openingState } from './opening.ts';
import { readSession, writeSession } from './session-text.ts';
import type { BenchState, LoopEntry } from './state.ts';

export const autosaveKey = 'stagebench/autosave';
/** Kept figures are longer than all the rest and change seldom: they are stored by themselves. */
export const keptKey = 'stagebench/kept-figures';
export const draftsKey = 'stagebench/drafts';
const lockName = 'stagebench/autosave';
const version = 1;
/** Saved this long after the last change, and when the page is left. */
export const saveAfterMs = 400;

export interface Restored {
  readonly state: BenchState;
  readonly frozen: Setting;
}

/** The text that is stored. */
export function writeAutosave(state: BenchState, frozen: Setting): string {
  return JSON.stringify({
    version,
    setting: writeSetting(state.setting),
    frozen: writeSetting(frozen),
    session: writeSession(state.session, state.setting),
  });
}

/** The state to begin with; damaged text gives the opening setting and one sentence. */
export function restoreAutosave(text: string | null, loops: readonly LoopEntry[], keptText: string | null = null, draftsText: string | null = null): Restored {
  const drafts = readDrafts(draftsText);
  const opened = openingState(loops);
  const opening = { ...opened, session: { ...opened.session, drafts } };
  if (text === null) return { state: opening, frozen: opening.setting };
  try {
    const stored: unknown = JSON.parse(text);
    if (typeof stored !== 'object' || stored === null) throw new Error('expected an object');
    const { version: storedVersion, setting: settingText, frozen: frozenText, session } = stored as Record<string, unknown>;
    if (storedVersion !== version) throw new Error(`version: expected ${version}, got ${String(storedVersion)}`);
    if (typeof settingText !== 'string' || typeof frozenText !== 'string') throw new Error('expected texts of settings');
    const setting = parseSetting(settingText);
    // Two equal texts become one setting, so that nothing counts as changed.
    const frozen = frozenText === settingText ? setting : parseSetting(frozenText);
    return { state: { setting, session: { ...readSession(session, setting, { ...openingSession(setting, loops), drafts }, loops), kept: readKept(keptText) }, live: openingLive }, frozen };
  } catch (error) {
    console.warn('autosave:', error);
    const state = opening;
    const message = { text: 'The last session could not be read back; this is the opening setting.', urgent: true, serial: 1 };
    return { state: { ...state, live: { ...state.live, message } }, frozen: state.setting };
  }
}

/** Reads the store; null when it is empty or forbidden. */
export function readStore(key = autosaveKey): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

/**
 * Saves the bench from now on, as far as this tab owns the store; when the owner closes, this tab takes over.
 * @returns the way to stop
 */
export function keepSaving(bench: Bench): () => void {
  let timer: ReturnType<typeof setTimeout> | undefined;
  let owns = false;
  let warned = false;
  let keptSaved = bench.state.session.kept;
  let draftsSaved = bench.state.session.drafts;
  const stop = new AbortController();

  const save = () => {
    clearTimeout(timer);
    timer = undefined;
    // A bell held up to search with is not what the next visit begins with; it is saved when it is turned down or left.
    // Nor is what a sitting has lent the bench.
    if (!owns || bench.state.live.search !== null || bench.state.live.long.sitting !== null) return;
    try {
      localStorage.setItem(autosaveKey, writeAutosave(bench.state, bench.frozen));
      const { kept, drafts } = bench.state.session;
      if (kept !== keptSaved) localStorage.setItem(keptKey, writeKept(kept));
      keptSaved = kept;
      if (drafts !== draftsSaved) localStorage.setItem(draftsKey, writeDrafts(drafts));
      draftsSaved = drafts;
    } catch {
      if (!warned) bench.dispatch({ kind: 'message', text: 'This browser does not let the bench keep its state; freeze what you want to keep.', urgent: true });
      warned = true;
    }
  };
  const unsubscribe = bench.subscribe((before, after) => {
    if (before.setting === after.setting && before.session === after.session && before.live.changedSinceFrozen === after.live.changedSinceFrozen) return;
    clearTimeout(timer);
    timer = setTimeout(save, saveAfterMs);
  });
  const leave = () => {
    if (timer !== undefined) save();
  };
  addEventListener('pagehide', leave, { signal: stop.signal });

  const own = () => new Promise<void>((resolve) => {
    owns = true;
    bench.dispatch({ kind: 'autosave-owner', owns: true });
    stop.signal.addEventListener('abort', () => resolve());
  });
  void claim(own, () => {
    bench.dispatch({ kind: 'autosave-owner', owns: false });
    bench.dispatch({ kind: 'message', text: 'The bench is open in another tab, which keeps the session; changes here last only as long as this tab.', urgent: false });
  }, stop.signal);

  return () => {
    leave();
    owns = false;
    unsubscribe();
    stop.abort();
  };
}

/** Holds the lock as long as `own` runs; tells `refused` once when another tab has it, then waits in line. */
async function claim(own: () => Promise<void>, refused: () => void, signal: AbortSignal): Promise<void> {
  if (!('locks' in navigator)) return own();
  const held = await navigator.locks.request(lockName, { ifAvailable: true }, async (lock) => {
    if (!lock) return false;
    await own();
    return true;
  });
  if (held || signal.aborted) return;
  refused();
  try {
    await navigator.locks.request(lockName, { signal }, own);
  } catch (error) {
    if (!signal.aborted) throw error;
  }
}
