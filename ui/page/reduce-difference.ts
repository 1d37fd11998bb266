/** Hearing only what is added. Pure. */
import { withLive, withMessage } from './changes.ts';
import type { DifferenceState } from './difference-state.ts';
import type { Action, BenchState } from './state.ts';

export const openingDifference: DifferenceState = { heard: false, byHandDb: 0, phase: { kind: 'none' }, levels: null };

/** Softer than this nobody asks for. */
const leastRaiseDb = -20;

/** By which what is added is raised, whole dB. */
export function raiseInForce({ levels, byHandDb }: Pick<DifferenceState, 'levels' | 'byHandDb'>): number {
  return levels === null ? 0 : Math.min(levels.mostDb, Math.max(Math.min(leastRaiseDb, levels.chosenDb), levels.chosenDb + byHandDb));
}

/** "raised by 38 dB", "lowered by 2 dB" */
export function raiseWords(raiseDb: number): string {
  return raiseDb < 0 ? `lowered by ${-raiseDb} dB` : `raised by ${raiseDb} dB`;
}

/** It is what sounds when anything does. */
export function differenceSounds({ live: { difference, blind, tonePlaying } }: BenchState): boolean {
  return difference.heard && difference.levels !== null && blind === null && !tonePlaying;
}

export function reduceDifference(state: BenchState, action: Action): BenchState {
  const { difference, blind, tonePlaying, long } = state.live;
  const changed = (change: Partial<DifferenceState>): BenchState => withLive(state, { difference: { ...difference, ...change } });
  switch (action.kind) {
    case 'hear-difference':
      return blind === null && long.sitting === null && !tonePlaying && action.heard !== difference.heard ? changed({ heard: action.heard }) : state;
    // Whoever switches, or gives the ear to something else, wants to hear that.
    case 'switch':
    case 'blind-setup':
    case 'sitting-open':
    case 'consent-tone':
      return difference.heard ? changed({ heard: false }) : state;
    case 'raise-difference': {
      const { levels } = difference;
      if (levels === null) return state;
      const wanted = raiseInForce({ levels, byHandDb: raiseInForce(difference) - levels.chosenDb + action.stepDb });
      return changed({ byHandDb: wanted - levels.chosenDb });
    }
    case 'difference-stale':
      if (!action.keep) return changed({ phase: { kind: 'none' }, levels: null, byHandDb: 0 });
      return difference.phase.kind === 'none' ? state : changed({ phase: { kind: 'stale' } });
    case 'difference-measuring':
      return changed({ phase: { kind: 'measuring', done: action.done } });
    case 'difference-found':
      return action.levels === null
        ? withMessage(changed({ phase: { kind: 'nothing' }, levels: null }), 'There is no difference to hear: what is added lies 120 dB or more under the programme. The path is heard.')
        : changed({ phase: { kind: 'ready' }, levels: action.levels });
    case 'difference-refused':
      return withMessage(changed({ phase: { kind: 'refused', why: action.why }, levels: null }), `The difference cannot be heard: ${action.why} The path is heard.`);
    default:
      return state;
  }
}
