/** What stands on the two sides of a pair on trial. Pure. */
import type { Setting } from '../../dsp/setting/index.ts';
import type { PairSide } from '../../worklets/messages.ts';
import { draftNames, type Pair, type SideName } from './drafts-state.ts';
import type { BenchState } from './state.ts';

export const sideNames: readonly SideName[] = ['bench', ...draftNames];

/** Null: an empty draft. */
export function settingOf({ setting, session: { drafts } }: Pick<BenchState, 'setting' | 'session'>, side: SideName): Setting | null {
  return side === 'bench' ? setting : drafts[side]?.setting ?? null;
}

/** Whether this pair can be heard: two sides that are not the same and not empty. */
export function isPair(state: Pick<BenchState, 'setting' | 'session'>, pair: Pair): boolean {
  return pair.in !== pair.out && settingOf(state, pair.in) !== null && settingOf(state, pair.out) !== null;
}

/** All that can be heard now, each once: the bench first, then the drafts in their order. */
export function pairsAtHand(state: Pick<BenchState, 'setting' | 'session'>): readonly Pair[] {
  return sideNames.flatMap((first, k) => sideNames.slice(k + 1).map((second): Pair => ({ in: first, out: second }))).filter((pair) => isPair(state, pair));
}

/** The two settings that are heard one or the other; null: no pair is on trial. */
export function pairedSettings(state: Pick<BenchState, 'setting' | 'session'>): readonly [Setting, Setting] | null {
  const { pair } = state.session;
  const first = pair && settingOf(state, pair.in);
  const second = pair && settingOf(state, pair.out);
  return first && second && [first, second];
}

/** The same as the workers are asked for it. */
export function pairAsked(state: Pick<BenchState, 'setting' | 'session'>): readonly [PairSide, PairSide] | null {
  const settings = pairedSettings(state);
  const side = ({ path, joints }: Setting): PairSide => ({ path, joints });
  return settings && [side(settings[0]), side(settings[1])];
}

/** Whether the same two paths are on trial; also where none are. */
export function samePair(a: Pick<BenchState, 'setting' | 'session'>, b: Pick<BenchState, 'setting' | 'session'>): boolean {
  if (a.session.pair !== b.session.pair) return false;
  const [before, after] = [pairedSettings(a), pairedSettings(b)];
  return before === null || after === null ? before === after : before.every(({ path, joints }, k) => path === after[k]!.path && joints === after[k]!.joints);
}

/** Whether what is dialled on the bench is heard; not with two drafts on trial. */
export function hearsBench({ pair }: Pick<BenchState['session'], 'pair'>): boolean {
  return pair === null || pair.in === 'bench' || pair.out === 'bench';
}

/** "draft II", "bench" */
export function sideWords(side: SideName): string {
  return side === 'bench' ? 'bench' : `draft ${side}`;
}
