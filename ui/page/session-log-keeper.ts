/** Writes the session's log as the bench is used, and keeps it in this browser between visits. */
import { settingSha256 } from '../../dsp/setting/index.ts';
import type { Bench } from './bench.ts';
import { download } from './download.ts';
import { localDay } from './local-minute.ts';
import { notice } from './session-log.ts';
import type { GestureStart, Line } from './session-log.ts';
import { readStoredLog, sessionLogText, writeSessionLog } from './session-log-text.ts';
import { storeGet, storeSet } from './store.ts';

const key = 'entries';
const saveAfterMs = 2000;

/** @returns the way to stop */
export function keepSessionLog(bench: Bench): () => void {
  let gesture: GestureStart = null;
  let timer: ReturnType<typeof setTimeout> | undefined;
  /** Nothing is written over what has not been read yet. */
  let restored = false;

  const save = () => {
    timer = undefined;
    // A log that cannot be kept lasts as long as the page; it can be saved as a file.
    if (restored && bench.state.live.ownsAutosave) storeSet('session-log', key, bench.state.live.sessionLog).catch(() => undefined);
  };
  const write = (line: Line) => {
    bench.dispatch({ kind: 'logged', entry: { at: localSecond(new Date()), ...line } });
    timer ??= setTimeout(save, saveAfterMs);
  };
  const unsubscribe = bench.subscribe((before, after, action) => {
    if (action.kind === 'save-session-log') {
      const { sessionLog } = after.live;
      if (action.as === 'json') download(writeSessionLog(sessionLog), `session-log-${localDay()}.json`, 'application/json');
      else download(sessionLogText(sessionLog), `session-log-${localDay()}.txt`, 'text/plain');
    }
    const noticed = notice(before, after, action, gesture);
    ({ gesture } = noticed);
    noticed.lines.forEach(write);
  });
  void storeGet('session-log', key).catch(() => undefined).then((stored) => {
    bench.dispatch({ kind: 'log-restored', entries: readStoredLog(stored) });
    restored = true;
  });
  const { setting } = bench.state;
  write({ kind: 'opened', words: `the bench was opened: ${setting.title}`, data: { settingSha256: settingSha256(setting) } });
  return () => {
    unsubscribe();
    clearTimeout(timer);
    save();
  };
}

/** "2026-11-26 20:15:07", where the listener is. */
function localSecond(now: Date): string {
  return `${localDay(now)} ${now.toTimeString().slice(0, 8)}`;
}
