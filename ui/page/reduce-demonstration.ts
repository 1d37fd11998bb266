/** How a demonstration in the making follows what is asked and what is answered. Pure. */
import { withLive } from './changes.ts';
import type { DemonstrationState } from './demonstration-state.ts';
import type { Action, BenchState } from './state.ts';

export const openingDemonstration: DemonstrationState = { done: null, words: null };

export function reduceDemonstration(state: BenchState, action: Action): BenchState {
  const { demonstration } = state.live;
  const set = (change: Partial<DemonstrationState>): BenchState => withLive(state, { demonstration: { ...demonstration, ...change } });
  switch (action.kind) {
    case 'demonstrate': return demonstration.done === null ? set({ done: 0 }) : state;
    case 'stop-demonstration': return set({ done: null });
    // What is told after a stop is late.
    case 'demonstration-done': return demonstration.done === null ? state : set({ done: action.done });
    case 'words-suggested': return set({ words: action.words });
    default: return state;
  }
}
