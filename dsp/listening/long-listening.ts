/**
 * Long listening: whole programmes, one concealed side a sitting, over days. Sittings come in pairs; each pair has both sides, in an order of its own from a recorded
 * seed, so that days and moods fall on both alike and chance alone gives the order: what the exact paired tests of the result ask for.
 */
import { SeededRandom } from '../math/index.ts';
import type { Side } from './blind-plan.ts';
import { mostPairs } from './sign-flip-test.ts';

/** The one question that the result answers; chosen beforehand, for of three questions one in seven is answered by chance at 5 %. */
export type LongQuestion = 'ease' | 'fatigue' | 'told-apart';
export const longQuestions: readonly LongQuestion[] = ['ease', 'fatigue', 'told-apart'];

export interface LongPlan {
  /** Twice as many sittings. */
  readonly pairs: number;
  readonly question: LongQuestion;
  /** Chance of an answer by accident that is accepted. */
  readonly significance: number;
  /** Recorded: the order of the sides follows from it alone. */
  readonly seed: number;
}

/** Whole numbers from 1 to 7 (common practice, no source). Ease: 1 hard to listen to, 7 easy. Fatigue afterwards: 1 fresh, 7 worn out. */
export const lowestRating = 1;
export const highestRating = 7;

/** What the listener wrote down after a sitting. */
export interface SittingLog {
  /** When it began, local ISO date and time to the minute. */
  readonly began: string;
  /** Of sound. */
  readonly heardSeconds: number;
  /** Whether the programme was heard to its end. */
  readonly toTheEnd: boolean;
  readonly ease: number;
  readonly fatigue: number;
  /** Which side the listener believed it was: asked for always … */
  readonly believed: Side;
  /** … and whether that was no more than a guess. */
  readonly noIdea: boolean;
  readonly words: string;
}

/** Throws RangeError with what was expected. */
export function requireLongPlan({ pairs, question, significance, seed }: LongPlan): void {
  if (!Number.isInteger(pairs) || pairs < 1 || pairs > mostPairs) throw new RangeError(`pairs: expected a whole number from 1 to ${mostPairs}, got ${pairs}`);
  if (!longQuestions.includes(question)) throw new RangeError(`question: expected one of ${longQuestions.join(', ')}, got ${String(question)}`);
  if (!(significance > 0 && significance < 1)) throw new RangeError(`significance: expected between 0 and 1, got ${significance}`);
  if (!Number.isInteger(seed)) throw new RangeError(`seed: expected a whole number, got ${seed}`);
}

/** Throws RangeError with what was expected. */
export function requireSittingLog({ heardSeconds, ease, fatigue, believed }: SittingLog): void {
  if (!(heardSeconds >= 0)) throw new RangeError(`heardSeconds: expected 0 or more, got ${heardSeconds}`);
  for (const [name, rating] of [['ease', ease], ['fatigue', fatigue]] as const) {
    if (!Number.isInteger(rating) || rating < lowestRating || rating > highestRating) throw new RangeError(`${name}: expected a whole number from ${lowestRating} to ${highestRating}, got ${rating}`);
  }
  if (believed !== 0 && believed !== 1) throw new RangeError(`believed: expected 0 or 1, got ${String(believed)}`);
}

/** The side of every sitting, in order. For whoever plays them, and for the result: nobody else asks before the last one. Throws RangeError. */
export function sittingSides(plan: LongPlan): readonly Side[] {
  requireLongPlan(plan);
  const random = new SeededRandom(plan.seed);
  return Array.from({ length: plan.pairs }, (): readonly Side[] => (random.nextUnit() < 0.5 ? [0, 1] : [1, 0])).flat();
}
