/** What a blind comparison showed, in figures and in plain words: what may be concluded and what may not. */
import type { BlindPlan } from './blind-plan.ts';
import type { AnsweredTrial } from './blind-session.ts';
import { chanceOfAtLeast, hitRateInterval, hitsNeeded, powerOf, signTestPower, twoSidedChance } from './binomial.ts';
import { sequentialCharacteristics, sequentialVerdict, type SequentialVerdict } from './sequential-test.ts';

/** True hit rates at which the power of a test is stated. */
export const statedRates: readonly number[] = [0.6, 0.7, 0.8, 0.9];

export interface Interval {
  readonly lower: number;
  readonly upper: number;
}

interface ResultCommon {
  /** Answered trials that count, and those planned; null: a sequential rule. */
  readonly trials: number;
  readonly planned: number | null;
  readonly stopped: boolean;
  readonly nullTrials: number;
  /** Sentences, most important first. */
  readonly words: readonly string[];
}

export interface IdentifyResult extends ResultCommon {
  readonly task: 'identify';
  readonly hits: number;
  /** One-sided, against guessing. */
  readonly p: number;
  /** Clopper–Pearson, 95 %, of the hit rate. */
  readonly interval: Interval;
  /** Of a fixed length: hits needed for its significance; null where no number suffices. */
  readonly needed: number | null;
  /** Chance of passing at each of `statedRates`. */
  readonly power: readonly number[];
  readonly verdict: SequentialVerdict | null;
  /** Null trials in which A was named. */
  readonly nullNamedA: number;
}

export interface PreferResult extends ResultCommon {
  readonly task: 'prefer';
  /** Trials in which side 0, side 1, neither was preferred. */
  readonly first: number;
  readonly second: number;
  readonly none: number;
  /** Two-sided sign test on the trials with a preference. */
  readonly p: number;
  /** Clopper–Pearson, 95 %, of the share for side 0 among them; null where there is none. */
  readonly interval: Interval | null;
  /** Chance of showing a preference at each of `statedRates`, were one stated in every trial planned. */
  readonly power: readonly number[];
  /** Null trials in which a preference was stated. */
  readonly nullPreferred: number;
}

export type BlindResult = IdentifyResult | PreferResult;

/** As `BlindSession.ended` has it; `of` counts null trials too. */
export interface EndedSession {
  readonly trials: readonly AnsweredTrial[];
  readonly stopped: boolean;
  readonly of: number | null;
}

export function blindResult(plan: BlindPlan, ended: EndedSession): BlindResult {
  return plan.task === 'identify' ? identified(plan, ended) : preferred(plan, ended);
}

const percent = (share: number, digits = 0): string => `${(100 * share).toFixed(digits)} %`;
const chance = (p: number): string => (p < 0.0001 ? 'less than 0.0001' : p.toFixed(4));
const times = (count: number, word: string): string => `${count} ${word}${count === 1 ? '' : 's'}`;

function identified(plan: BlindPlan, ended: EndedSession): IdentifyResult {
  const { length } = plan;
  const { trials: answered, stopped } = ended;
  const real = answered.filter(({ isNull }) => !isNull);
  const nulls = answered.filter(({ isNull }) => isNull);
  const trials = real.length;
  const hits = real.filter(({ hit }) => hit).length;
  const planned = length.kind === 'fixed' ? length.trials : null;
  const p = chanceOfAtLeast(hits, trials, 0.5);
  const interval = hitRateInterval(hits, trials);
  const needed = length.kind === 'fixed' ? hitsNeeded(length.trials, length.significance) : null;
  const power = statedRates.map((rate) => (length.kind === 'sequential' ? sequentialCharacteristics(length.plan, rate).heard : needed === null ? 0 : powerOf(length.trials, needed, rate)));
  const verdict = length.kind === 'sequential' && !stopped ? sequentialVerdict(length.plan, hits, trials) : null;
  const nullNamedA = nulls.filter(({ answer }) => answer === 1).length;
  const words = [
    `${times(hits, 'hit')} in ${times(trials, 'trial')}; by guessing, as many or more come with a chance of ${chance(p)}.`,
    ...stoppedWords(ended),
    ...(stopped ? [] : conclusion(plan, { hits, p, needed, verdict })),
    `The hit rate lies between ${percent(interval.lower)} and ${percent(interval.upper)} (95 %${length.kind === 'sequential' ? '; taken as if the number of trials had been fixed' : ''}).`,
    `Chance of passing for someone who is truly right in ${statedRates.map((rate, k) => `${percent(rate)}: ${percent(power[k]!)}`).join(', ')}.`,
    ...(nulls.length > 0 ? [`In ${times(nulls.length, 'null trial')} A and B were the same; A was named in ${nullNamedA} of them. They do not count.`] : []),
  ];
  return { task: 'identify', trials, planned, stopped, nullTrials: nulls.length, hits, p, interval, needed, power, verdict, nullNamedA, words };
}

function stoppedWords({ trials, stopped, of }: EndedSession): string[] {
  return stopped ? [`Stopped at ${trials.length}${of === null ? '' : ` of ${of}`}: a test ended at a moment of one's own choosing proves nothing, whatever its figures.`] : [];
}

function conclusion({ length }: BlindPlan, { hits, p, needed, verdict }: Pick<IdentifyResult, 'hits' | 'p' | 'needed' | 'verdict'>): string[] {
  const heard = 'This listener told them apart, with this programme, at this level, on this equipment. That says nothing of which is better.';
  const missed = 'That does not show that no difference can be heard: it was not shown here.';
  if (length.kind === 'sequential') {
    const { falseAlarm, guessRate } = length.plan;
    const actual = sequentialCharacteristics(length.plan, guessRate).heard;
    const errors = `By guessing the rule ends so with a chance of ${percent(actual, 1)}${Math.abs(actual - falseAlarm) < 0.0005 ? '' : ` (${percent(falseAlarm)} asked for)`}.`;
    return verdict === 'heard' ? [`The rule decided: a difference was heard. ${errors}`, heard] : [`The rule decided: no better than guessing. ${missed}`];
  }
  const { significance, trials } = length;
  if (needed === null) return [`So few trials cannot show anything at ${percent(significance)}: even all hits come more often by guessing.`];
  const passed = hits >= needed;
  if (passed !== p <= significance) throw new Error(`verdict: expected ${needed} hits of ${trials} to agree with p ${p}`);
  return passed
    ? [`At least ${needed} were needed for ${percent(significance)}: reached. ${heard}`]
    : [`At least ${needed} were needed for ${percent(significance)}: not reached. ${missed}`];
}

function preferred(plan: BlindPlan, ended: EndedSession): PreferResult {
  const { trials: answered, stopped } = ended;
  const real = answered.filter(({ isNull }) => !isNull);
  const nulls = answered.filter(({ isNull }) => isNull);
  const sideChosen = ({ answer, A, B }: AnsweredTrial): 0 | 1 | null => (answer === 0 ? null : answer === 1 ? A : B);
  const first = real.filter((trial) => sideChosen(trial) === 0).length;
  const second = real.filter((trial) => sideChosen(trial) === 1).length;
  const none = real.length - first - second;
  const stated = first + second;
  const p = twoSidedChance(first, stated, 0.5);
  const interval = stated === 0 ? null : hitRateInterval(first, stated);
  const nullPreferred = nulls.filter(({ answer }) => answer !== 0).length;
  const { length } = plan;
  const planned = length.kind === 'fixed' ? length.trials : null;
  const significance = length.kind === 'fixed' ? length.significance : 0.05;
  const shown = p <= significance;
  const power = statedRates.map((rate) => signTestPower(planned ?? stated, significance, rate));
  const words = [
    `The first was preferred ${times(first, 'time')}, the second ${times(second, 'time')}, neither ${times(none, 'time')}; a split so uneven comes by chance with ${chance(p)} (two-sided, trials without preference left out).`,
    ...stoppedWords(ended),
    ...(stopped ? [] : [shown
      ? `This listener prefers the ${first > second ? 'first' : 'second'}, with this programme, at this level, on this equipment; others may not.`
      : 'No preference was shown. That does not mean that there is none, nor that the two sound alike.']),
    ...(interval === null ? [] : [`Among stated preferences the first has a share between ${percent(interval.lower)} and ${percent(interval.upper)} (95 %).`]),
    `Chance of showing a preference that is truly for one side in ${statedRates.map((rate, k) => `${percent(rate)}: ${percent(power[k]!)}`).join(', ')}, were one stated in every trial.`,
    ...(nulls.length > 0 ? [`In ${times(nulls.length, 'null trial')} both were the same; a preference was stated in ${nullPreferred} of them. Where that is often, preferences say little.`] : []),
  ];
  return { task: 'prefer', trials: real.length, planned, stopped, nullTrials: nulls.length, first, second, none, p, interval, power, nullPreferred, words };
}
