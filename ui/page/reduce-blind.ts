/** The blind comparison: setting up, running, ended. Pure. */
import { mostExcerpts, requireBlindPlan, type BlindPlan, type BlindProgress } from '../../dsp/listening/index.ts';
import { largestComparedResidualDb, type Excerpt } from '../../dsp/setting/index.ts';
import type { BlindState, ExcerptMatch } from './blind-state.ts';
import { withLive } from './changes.ts';
import type { Action, BenchState, LiveState } from './state.ts';

/** A first plan: 16 trials at 5 %, a few null ones, training. `seed` is the page's chance, recorded with the result. */
export function firstBlindPlan(seed: number): BlindPlan {
  return { task: 'identify', length: { kind: 'fixed', trials: 16, significance: 0.05 }, nullShare: 0.2, training: 3, seed };
}

/** Why no blind comparison may begin yet; null: it may. */
export function blindHindrance(
  { match, fault, input, loopLoaded, excerptMatch = { kind: 'none' } }: Pick<LiveState, 'match' | 'fault' | 'input'> & { readonly loopLoaded: boolean; readonly excerptMatch?: ExcerptMatch },
): string | null {
  if (input.sounding) return 'Live input cannot be compared blind: no two takes of it are the same. Keep a stretch of it as a loop and compare on that.';
  if (!loopLoaded) return 'The loop is not loaded yet.';
  if (fault) return 'The circuit cannot be built: mend it first.';
  switch (match.kind) {
    case 'matched':
      if (excerptMatch.kind !== 'none') return excerptHindrance(excerptMatch);
      return Math.abs(match.residualDb) <= largestComparedResidualDb ? null : `${Math.abs(match.residualDb).toFixed(2)} dB are left between the two after matching, more than ${largestComparedResidualDb} dB: level alone could tell them apart.`;
    case 'off': return 'The level match is off: switch it on, or the louder one wins.';
    case 'cannot-match': return `The levels cannot be matched: ${match.why}`;
    default: return 'The level match is being measured; wait a moment.';
  }
}

function excerptHindrance(match: Exclude<ExcerptMatch, { readonly kind: 'none' }>): string | null {
  switch (match.kind) {
    case 'measuring': return 'The levels of the excerpts are being measured; wait a moment.';
    case 'cannot-match': return `The levels cannot be matched: ${match.why}`;
    case 'matched': {
      const { index, residualDb } = match.worst;
      return Math.abs(residualDb) <= largestComparedResidualDb ? null
        : `Under one gain for all of them ${Math.abs(residualDb).toFixed(2)} dB are left in excerpt ${index + 1}, more than ${largestComparedResidualDb} dB: level alone could tell the two apart there. No single gain does better; remove an excerpt, or compare it by itself.`;
    }
  }
}

/** @param loopBefore that was on the bench before this action */
export function reduceBlind(state: BenchState, action: Action, loopBefore: string): BenchState {
  const { blind } = state.live;
  switch (action.kind) {
    case 'blind-setup':
      return blind === null ? withLive(state, { blind: { kind: 'setup', plan: firstBlindPlan(action.seed), refusal: null, excerptMatch: toMeasure(state.live.excerpts) }, playing: false, tonePlaying: false, toneAsked: null }) : state;
    case 'blind-plan':
      return blind?.kind === 'setup' ? withLive(state, { blind: { ...blind, plan: action.plan, refusal: refusalOf(action.plan) } }) : state;
    case 'blind-begin': {
      if (blind?.kind !== 'setup' || refusalOf(blind.plan) !== null) return state;
      const { plan, excerptMatch } = blind;
      const progress: BlindProgress = plan.training > 0 ? { phase: 'training', number: 1, of: plan.training } : { phase: 'trials', number: 1, of: null };
      return withLive(state, { blind: { kind: 'running', plan, progress, token: null, truth: null, leaving: false, excerpt: 1, excerptMatch }, playing: false });
    }
    case 'blind-hear':
      return blind?.kind === 'running' ? withLive(state, { blind: { ...blind, token: action.token }, playing: true }) : state;
    case 'blind-answer':
      // The trial is over; what is heard before the worker has told the next belongs to that one already.
      return mayAnswer(state) && blind?.kind === 'running' ? withLive(state, { blind: { ...blind, token: null }, playing: false }) : state;
    case 'blind-leave':
      return blind?.kind === 'running' ? withLive(state, { blind: { ...blind, leaving: true }, playing: false }) : state;
    case 'blind-stay':
      return blind?.kind === 'running' ? withLive(state, { blind: { ...blind, leaving: false } }) : state;
    case 'blind-told':
      return blind?.kind === 'running' ? withLive(state, { blind: { ...blind, progress: action.progress, truth: action.truth } }) : state;
    case 'blind-record':
      return blind?.kind === 'running' ? withLive(state, { blind: { kind: 'ended', record: action.record, excerptMatch: blind.excerptMatch }, playing: false }) : state;
    case 'blind-failed':
      return blind?.kind === 'running' ? withLive(state, { blind: null, playing: false }) : state;
    case 'blind-excerpt':
      return blind?.kind === 'running' && action.excerpt >= 1 && action.excerpt <= excerptCount(state) ? withLive(state, { blind: { ...blind, excerpt: action.excerpt } }) : state;
    case 'add-excerpt': {
      const excerpt = presentExcerpt(state);
      return excerpt === null || state.live.excerpts.length >= mostExcerpts ? state : withExcerpts(state, [...state.live.excerpts, excerpt]);
    }
    case 'remove-excerpt':
      return withExcerpts(state, state.live.excerpts.filter((_, index) => index !== action.index));
    case 'name-excerpt':
      return withLive(state, { excerpts: state.live.excerpts.map((excerpt, index) => (index === action.index ? { ...excerpt, name: action.name.slice(0, longestName) } : excerpt)) });
    case 'excerpts-matched':
      return blind?.kind === 'setup' && sameParts(action.excerpts, state.live.excerpts) ? withLive(state, { blind: { ...blind, excerptMatch: action.match } }) : state;
    case 'programme':
      // What is measured is what is on the bench.
      return withExcerpts(state, state.live.excerpts);
    case 'loop':
      // They were parts of another one.
      return action.loop === loopBefore ? state : withLive(state, { excerpts: [] });
    case 'blind-close':
      return blind === null || blind.kind === 'running' ? state : withLive(state, { blind: null });
    default:
      return state;
  }
}

const longestName = 60;

/** The region as it stands; the whole loop where none is chosen; null before it is loaded. */
export function presentExcerpt({ session: { region }, live: { programme } }: BenchState): Excerpt | null {
  if (region) return { name: '', startSeconds: region.startSeconds, endSeconds: region.endSeconds };
  return programme && { name: '', startSeconds: programme.onBench.startFrame / programme.rateHz, endSeconds: programme.onBench.endFrame / programme.rateHz };
}

/** Where the listener listed none, the region is the only one. */
export function excerptCount({ live: { excerpts } }: BenchState): number {
  return Math.max(1, excerpts.length);
}

/** A trial of which nothing was heard is not answered: a key held down, or pressed twice, would answer the next one. */
export function mayAnswer({ live: { blind } }: BenchState): boolean {
  return blind?.kind === 'running' && !blind.leaving && blind.token !== null;
}

/** The part that sounds while comparing blind; null: what the bench plays. */
export function excerptHeard({ live: { blind, excerpts } }: BenchState): Excerpt | null {
  return blind?.kind === 'running' ? excerpts[blind.excerpt - 1] ?? null : null;
}

/** Whatever they are called. */
export function sameParts(a: readonly Excerpt[], b: readonly Excerpt[]): boolean {
  return a.length === b.length && a.every(({ startSeconds, endSeconds }, index) => startSeconds === b[index]!.startSeconds && endSeconds === b[index]!.endSeconds);
}

function withExcerpts(state: BenchState, excerpts: readonly Excerpt[]): BenchState {
  const { blind } = state.live;
  if (blind !== null && blind.kind !== 'setup') return state;
  const measured: BlindState | null = blind && { ...blind, excerptMatch: toMeasure(excerpts) };
  return withLive(state, { excerpts, blind: measured });
}

function toMeasure(excerpts: readonly Excerpt[]): ExcerptMatch {
  return { kind: excerpts.length === 0 ? 'none' : 'measuring' };
}

function refusalOf(plan: BlindPlan): string | null {
  try {
    requireBlindPlan(plan);
    return null;
  } catch (error) {
    return (error as Error).message;
  }
}
