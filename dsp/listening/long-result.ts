/** What a long listening showed, in figures and in plain words: what may be concluded and what may not. */
import { chanceOfAtLeast, hitRateInterval, hitsNeeded, powerOf, signTestPower } from './binomial.ts';
import type { Side } from './blind-plan.ts';
import { statedRates, type Interval } from './blind-result.ts';
import { requireSittingLog, sittingSides, type LongPlan, type LongQuestion, type SittingLog } from './long-listening.ts';
import { leastSignFlipP, signFlipTest } from './sign-flip-test.ts';

/** A rating of both sides over all whole pairs. */
export interface RatedResult {
  /** Mean of side 0 and of side 1; null without a pair. */
  readonly means: readonly [number, number] | null;
  /** Exact paired randomisation test, two-sided. */
  readonly p: number;
}

/**
 * Whether the listener knew which was which. Both sides are in each pair, so a pair in which both sittings were believed the same is half right whatever was heard and says nothing;
 * of the others both beliefs are right or both are wrong, by guessing one as often as the other.
 */
export interface ToldApartResult {
  readonly hits: number;
  /** Pairs with two different beliefs. */
  readonly of: number;
  readonly sameBeliefs: number;
  /** Sittings whose belief was no more than a guess. */
  readonly noIdea: number;
  /** One-sided, against guessing. */
  readonly p: number;
  /** Clopper–Pearson, 95 %; null where no pair counts. */
  readonly interval: Interval | null;
}

export interface LongResult {
  readonly sittings: number;
  readonly planned: number;
  readonly wholePairs: number;
  readonly stopped: boolean;
  readonly ease: RatedResult;
  readonly fatigue: RatedResult;
  readonly toldApart: ToldApartResult;
  /** Sentences, most important first. */
  readonly words: readonly string[];
}

/** @param names of side 0 and side 1, as in "in circuit" @param brokenOff sittings that were left without a word and heard anew. Throws RangeError. */
export function longResult(plan: LongPlan, logs: readonly SittingLog[], names: readonly [string, string], brokenOff = 0): LongResult {
  const sides = sittingSides(plan);
  if (logs.length > sides.length) throw new RangeError(`sittings: expected at most ${sides.length}, got ${logs.length}`);
  logs.forEach(requireSittingLog);
  const wholePairs = Math.floor(logs.length / 2);
  const paired = Array.from({ length: wholePairs }, (_, pair) => bySide(logs, sides, pair));
  const stopped = logs.length < sides.length;
  const ease = rated(paired, ({ ease: rating }) => rating);
  const fatigue = rated(paired, ({ fatigue: rating }) => rating);
  const toldApart = apart(paired, logs);
  const figures = { sittings: logs.length, planned: sides.length, wholePairs, stopped, ease, fatigue, toldApart };
  const left = brokenOff === 0 ? [] : [`${times(brokenOff, 'sitting')} broken off without a word and heard anew: unless by accident, that weakens what was found.`];
  return { ...figures, words: [...wordsOf(plan, figures, names), ...left] };
}

/** What the plan can show, before it is made. */
export function longPlanWords({ pairs, question, significance }: LongPlan): string {
  const level = percent(significance, 1);
  if (question === 'told-apart') {
    const needed = hitsNeeded(pairs, significance);
    return needed === null
      ? `${times(pairs, 'pair')} cannot show it at ${level}: even all of them right come by guessing with ${chance(leastSignFlipP(pairs) / 2)}.`
      : `${needed} of ${times(pairs, 'pair')} must be named rightly. Someone who truly knows in 70 % of pairs gets there with ${percent(powerOf(pairs, needed, 0.7))}, in 90 % with ${percent(powerOf(pairs, needed, 0.9))}.`;
  }
  const least = leastSignFlipP(pairs);
  return least > significance
    ? `${times(pairs, 'pair')} cannot show it at ${level}: even if all pairs point the same way, that comes by chance with ${chance(least)}.`
    : `If all ${times(pairs, 'pair')} point the same way, that comes by chance with ${chance(least)}. Where ratings differ by one step, the same way in 80 % of pairs, it shows with ${percent(signTestPower(pairs, significance, 0.8))}; in 95 %, with ${percent(signTestPower(pairs, significance, 0.95))}.`;
}

type Pair = readonly [SittingLog, SittingLog];

/** The two sittings of a pair, side 0 first. */
function bySide(logs: readonly SittingLog[], sides: readonly Side[], pair: number): Pair {
  const earlier = logs[2 * pair]!;
  const later = logs[2 * pair + 1]!;
  return sides[2 * pair] === 0 ? [earlier, later] : [later, earlier];
}

function rated(pairs: readonly Pair[], ratingOf: (log: SittingLog) => number): RatedResult {
  const mean = (side: Side): number => pairs.reduce((sum, pair) => sum + ratingOf(pair[side]), 0) / pairs.length;
  return { means: pairs.length === 0 ? null : [mean(0), mean(1)], p: signFlipTest(pairs.map(([first, second]) => ratingOf(first) - ratingOf(second))).p };
}

function apart(pairs: readonly Pair[], logs: readonly SittingLog[]): ToldApartResult {
  const telling = pairs.filter(([first, second]) => first.believed !== second.believed);
  const hits = telling.filter(([first]) => first.believed === 0).length;
  return {
    hits, of: telling.length, sameBeliefs: pairs.length - telling.length, noIdea: logs.filter(({ noIdea }) => noIdea).length,
    p: chanceOfAtLeast(hits, telling.length, 0.5), interval: telling.length === 0 ? null : hitRateInterval(hits, telling.length),
  };
}

type Figures = Omit<LongResult, 'words'>;

const percent = (share: number, digits = 0): string => `${+(100 * share).toFixed(digits)} %`;
const chance = (p: number): string => (p < 0.0001 ? 'less than 0.0001' : p.toFixed(4));
const times = (count: number, word: string): string => `${count} ${word}${count === 1 ? '' : 's'}`;
const limits = 'That holds for this listener, this programme, this level and this equipment.';

function wordsOf(plan: LongPlan, figures: Figures, names: readonly [string, string]): string[] {
  const { stopped, sittings, planned, wholePairs, toldApart } = figures;
  const tellers: Readonly<Record<LongQuestion, () => string>> = {
    ease: () => ratingWords('Ease', figures.ease, names), fatigue: () => ratingWords('Fatigue', figures.fatigue, names), 'told-apart': () => apartWords(toldApart),
  };
  const besides = (Object.keys(tellers) as LongQuestion[]).filter((question) => question !== plan.question);
  return [
    ...(stopped ? [`Ended after ${sittings} of ${planned} sittings: figures of a test that was not carried through as planned show nothing by themselves.`] : []),
    ...(wholePairs === 0 ? ['There is no whole pair of sittings, so nothing can be compared.'] : [
      tellers[plan.question](),
      ...(stopped ? [] : [conclusion(plan, figures, names)]),
      ...besides.map((question) => `Looked at besides, and not what was asked: ${tellers[question]()}`),
      ...(sittings % 2 === 1 ? ['The last sitting has no partner and does not count.'] : []),
    ]),
    ...(toldApart.noIdea > 0 ? [`In ${times(toldApart.noIdea, 'sitting')} the listener had no idea which it was; the guess counts all the same.`] : []),
  ];
}

function ratingWords(what: string, { means, p }: RatedResult, names: readonly [string, string]): string {
  return `${what}: ${means![0].toFixed(2)} ${names[0]}, ${means![1].toFixed(2)} ${names[1]} on average; so large a difference, either way, comes by chance with ${chance(p)}.`;
}

function apartWords({ hits, of, sameBeliefs, p, interval }: ToldApartResult): string {
  const same = sameBeliefs === 0 ? '' : ` In ${times(sameBeliefs, 'pair')} both were believed the same, which says nothing.`;
  if (interval === null) return `Which was which: no pair was given two different names.${same}`;
  return `Which was which: ${hits} of ${times(of, 'pair')} named rightly; by guessing, as many or more come with ${chance(p)}. True rate between ${percent(interval.lower)} and ${percent(interval.upper)} (95 %).${same}`;
}

function conclusion(plan: LongPlan, { ease, fatigue, toldApart, wholePairs }: Figures, names: readonly [string, string]): string {
  const { question, significance } = plan;
  const level = percent(significance, 1);
  if (question === 'told-apart') {
    const needed = hitsNeeded(toldApart.of, significance);
    const power = needed === null ? null : statedRates.map((rate) => `${percent(rate)}: ${percent(powerOf(toldApart.of, needed, rate))}`).join(', ');
    if (toldApart.p <= significance) return `At ${level} the two were told apart over long listening. ${limits} It says nothing of which is better.`;
    const found = power === null ? `So few pairs could not have shown it at all at ${level}.` : `Someone who truly knows would have been found with, at a rate of ${power}.`;
    return `At ${level} it was not shown that they can be told apart. That does not show that they cannot. ${found}`;
  }
  const { means, p } = question === 'ease' ? ease : fatigue;
  if (p <= significance) {
    const higher = means![0] > means![1] ? names[0] : names[1];
    return `At ${level} the two differ: ${question === 'ease' ? 'easier to listen to' : 'more tiring'} was ${higher}. ${limits}`;
  }
  const least = leastSignFlipP(wholePairs);
  return `At ${level} no difference was shown. That does not show that there is none. ${least > significance
    ? `So few pairs could not have shown one: even all pointing the same way come by chance with ${chance(least)}.`
    : `A difference of one step, the same way in 80 % of pairs, would have been found with ${percent(signTestPower(wholePairs, significance, 0.8))}.`}`;
}
