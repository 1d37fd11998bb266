/** The blind comparison: setting up, running, ended. Pure. */
import { requireBlindPlan, type BlindPlan, type BlindProgress } from '../../dsp/listening/index.ts';
import { withLive } from './changes.ts';
import type { Action, BenchState, LiveState } from './state.ts';

/** More left over between the two than this, dB, and their levels could tell them apart. */
export const largestBlindResidualDb = 0.1;

/** A first plan: 16 trials at 5 %, a few null ones, training. `seed` is the page's chance, recorded with the result. */
export function firstBlindPlan(seed: number): BlindPlan {
  return { task: 'identify', length: { kind: 'fixed', trials: 16, significance: 0.05 }, nullShare: 0.2, training: 3, seed };
}

/** Why no blind comparison may begin yet; null: it may. */
export function blindHindrance({ match, fault, input, loopLoaded }: Pick<LiveState, 'match' | 'fault' | 'input'> & { readonly loopLoaded: boolean }): string | null {
  if (input.sounding) return 'Live input cannot be compared blind: no two takes of it are the same. Keep a stretch of it as a loop and compare on that.';
  if (!loopLoaded) return 'The loop is not loaded yet.';
  if (fault) return 'The circuit cannot be built: mend it first.';
  switch (match.kind) {
    case 'matched':
      return Math.abs(match.residualDb) <= largestBlindResidualDb ? null : `${Math.abs(match.residualDb).toFixed(2)} dB are left between the two after matching, more than ${largestBlindResidualDb} dB: level alone could tell them apart.`;
    case 'off': return 'The level match is off: switch it on, or the louder one wins.';
    case 'cannot-match': return `The levels cannot be matched: ${match.why}`;
    default: return 'The level match is being measured; wait a moment.';
  }
}

export function reduceBlind(state: BenchState, action: Action): BenchState {
  const { blind } = state.live;
  switch (action.kind) {
    case 'blind-setup':
      return blind === null ? withLive(state, { blind: { kind: 'setup', plan: firstBlindPlan(action.seed), refusal: null }, playing: false, tonePlaying: false, toneAsked: null }) : state;
    case 'blind-plan':
      return blind?.kind === 'setup' ? withLive(state, { blind: { kind: 'setup', plan: action.plan, refusal: refusalOf(action.plan) } }) : state;
    case 'blind-begin': {
      if (blind?.kind !== 'setup' || refusalOf(blind.plan) !== null) return state;
      const { plan } = blind;
      const progress: BlindProgress = plan.training > 0 ? { phase: 'training', number: 1, of: plan.training } : { phase: 'trials', number: 1, of: null };
      return withLive(state, { blind: { kind: 'running', plan, progress, token: null, truth: null, leaving: false }, playing: false });
    }
    case 'blind-hear':
      return blind?.kind === 'running' ? withLive(state, { blind: { ...blind, token: action.token }, playing: true }) : state;
    case 'blind-leave':
      return blind?.kind === 'running' ? withLive(state, { blind: { ...blind, leaving: true }, playing: false }) : state;
    case 'blind-stay':
      return blind?.kind === 'running' ? withLive(state, { blind: { ...blind, leaving: false } }) : state;
    case 'blind-told':
      return blind?.kind === 'running' ? withLive(state, { blind: { ...blind, progress: action.progress, truth: action.truth, token: null }, playing: false }) : state;
    case 'blind-record':
      return blind?.kind === 'running' ? withLive(state, { blind: { kind: 'ended', record: action.record }, playing: false }) : state;
    case 'blind-close':
      return blind === null || blind.kind === 'running' ? state : withLive(state, { blind: null });
    default:
      return state;
  }
}

function refusalOf(plan: BlindPlan): string | null {
  try {
    requireBlindPlan(plan);
    return null;
  } catch (error) {
    return (error as Error).message;
  }
}
