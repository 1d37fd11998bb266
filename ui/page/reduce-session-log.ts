/** The session's log in the state. Pure. */
import { withLive } from './changes.ts';
import { appendEntry, mostEntries } from './session-log.ts';
import type { Action, BenchState } from './state.ts';

export function reduceSessionLog(state: BenchState, action: Action): BenchState {
  const { sessionLog } = state.live;
  switch (action.kind) {
    case 'logged': return withLive(state, { sessionLog: appendEntry(sessionLog, action.entry) });
    // What this visit has written already stands behind it.
    case 'log-restored': return withLive(state, { sessionLog: [...action.entries, ...sessionLog].slice(-mostEntries) });
    default: return state;
  }
}
