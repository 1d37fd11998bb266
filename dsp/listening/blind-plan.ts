/**
 * What a blind comparison is to be, chosen before it begins, and its trials, which follow from a seed alone: double-blind ABX (D. Clark, High-resolution subjective
 * testing using a double-blind comparator, 1982) or paired preference. The two things compared are side 0 and side 1; the listener knows them only as A, B and X.
 */
import { SeededRandom } from '../math/index.ts';
import { mostTrials } from './binomial.ts';
import { requireSequentialPlan, type SequentialPlan } from './sequential-test.ts';

export type Side = 0 | 1;
export type BlindToken = 'A' | 'B' | 'X';
/** 1: A (is X, or is preferred); 2: B; 0: no preference. */
export type BlindAnswer = 0 | 1 | 2;

export type BlindLength =
  /** So many trials, and the chance of passing by guessing that is accepted; null trials come on top. */
  | { readonly kind: 'fixed'; readonly trials: number; readonly significance: number }
  /** Until the plan decides; of ABX alone. */
  | { readonly kind: 'sequential'; readonly plan: SequentialPlan };

export interface BlindPlan {
  readonly task: 'identify' | 'prefer';
  readonly length: BlindLength;
  /** Share of trials with the same thing as A and as B, mixed in: 0 to 0.5. */
  readonly nullShare: number;
  /** Trials before the first, which count for nothing and are answered at once with what X was. */
  readonly training: number;
  /** Recorded with the result: the trials can be made again from it. */
  readonly seed: number;
}

/** What the tokens stand for in one trial. */
export interface BlindTrial {
  readonly A: Side;
  readonly B: Side;
  /** Of preference: none. */
  readonly X: Side | null;
  /** A and B are the same. */
  readonly isNull: boolean;
}

/** Parts of the programme that the listener may choose among. */
export const mostExcerpts = 12;

const mostNullShare = 0.5;
const mostTraining = 50;
/** Any number: training shall not foretell the trials. */
const trainingSeedMask = 0x5bd1e995;

const other = (side: Side): Side => (side === 0 ? 1 : 0);

/** Throws RangeError with what was expected. */
export function requireBlindPlan({ task, length, nullShare, training, seed }: BlindPlan): void {
  if (!(nullShare >= 0 && nullShare <= mostNullShare)) throw new RangeError(`nullShare: expected a share from 0 to ${mostNullShare}, got ${nullShare}`);
  if (!Number.isInteger(training) || training < 0 || training > mostTraining) throw new RangeError(`training: expected a whole number from 0 to ${mostTraining}, got ${training}`);
  if (!Number.isInteger(seed)) throw new RangeError(`seed: expected a whole number, got ${seed}`);
  if (length.kind === 'sequential') {
    if (task === 'prefer') throw new RangeError('length: expected a fixed number of trials for preference, got a sequential rule');
    requireSequentialPlan(length.plan);
    if (length.plan.guessRate !== 0.5) throw new RangeError(`guessRate: expected 0.5, for X is one of two, got ${length.plan.guessRate}`);
  } else {
    const { trials, significance } = length;
    if (!Number.isInteger(trials) || trials < 1 || trials > mostTrials) throw new RangeError(`trials: expected a whole number from 1 to ${mostTrials}, got ${trials}`);
    if (!(significance > 0 && significance < 1)) throw new RangeError(`significance: expected between 0 and 1, got ${significance}`);
  }
}

/** The trials of a plan, one by one, for as long as they are asked for. Throws RangeError. */
export class BlindTrials {
  readonly #random: SeededRandom;
  readonly #plan: BlindPlan;
  /** Of ABX: A is the same side throughout, so that it can be learnt. */
  readonly #sideOfA: Side;
  #nullsLeft: number;
  #trialsLeft: number;

  constructor(plan: BlindPlan) {
    requireBlindPlan(plan);
    this.#plan = plan;
    this.#random = new SeededRandom(plan.seed);
    this.#sideOfA = this.#coin();
    const { length, nullShare } = plan;
    const real = length.kind === 'fixed' ? length.trials : 0;
    this.#nullsLeft = length.kind === 'fixed' && nullShare > 0 ? Math.max(1, Math.round((real * nullShare) / (1 - nullShare))) : 0;
    this.#trialsLeft = real + this.#nullsLeft;
  }

  /** Null trials included; null where the length is not fixed. */
  get count(): number | null {
    return this.#plan.length.kind === 'fixed' ? this.#trialsLeft : null;
  }

  next(): BlindTrial {
    const isNull = this.#drawsNull();
    const { task } = this.#plan;
    const A: Side = task === 'identify' && !isNull ? this.#sideOfA : this.#coin();
    const B: Side = isNull ? A : other(A);
    // Each trial by its own coin, whatever came before: what the binomial law asks for.
    const X: Side | null = task === 'prefer' ? null : this.#coin() === 0 ? A : B;
    return { A, B, X, isNull };
  }

  /** Trials for getting used to it: never null, from a seed of their own, A the side that it stays. */
  training(): readonly BlindTrial[] {
    const random = new SeededRandom(this.#plan.seed ^ trainingSeedMask);
    const { training, task } = this.#plan;
    return Array.from({ length: training }, () => {
      const draw = random.nextUnit() < 0.5;
      const A: Side = task === 'identify' ? this.#sideOfA : draw ? 0 : 1;
      const B = other(A);
      return { A, B, X: task === 'prefer' ? null : draw ? A : B, isNull: false };
    });
  }

  /** Of a fixed length the null trials are strewn evenly among all orders; else each trial is one with its share as the chance. */
  #drawsNull(): boolean {
    const draw = this.#random.nextUnit();
    if (this.#plan.length.kind === 'sequential') return draw < this.#plan.nullShare;
    const isNull = draw * this.#trialsLeft < this.#nullsLeft;
    this.#trialsLeft -= 1;
    if (isNull) this.#nullsLeft -= 1;
    return isNull;
  }

  #coin(): Side {
    return this.#random.nextUnit() < 0.5 ? 0 : 1;
  }
}
