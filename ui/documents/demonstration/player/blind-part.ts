/** The blind part: ABX of a fixed number of trials. Draws what it is told and knows nothing of sound but two ways. */
import { blindResult, BlindSession, hitsNeeded, type BlindPlan, type BlindToken } from '../../../../dsp/listening/index.ts';
import type { Way } from './two-ways.ts';

/** Chance of passing by guessing that is accepted; stated on the page. */
export const significance = 0.05;

const ways: readonly [Way, Way] = ['in', 'out'];

export function identifyPlan(trials: number, seed: number): BlindPlan {
  return { task: 'identify', length: { kind: 'fixed', trials, significance }, nullShare: 0, training: 0, seed };
}

/** "10 hits are needed of 12." */
export function neededWords(trials: number): string {
  const needed = hitsNeeded(trials, significance);
  return needed === null ? `So few trials cannot show anything.` : `${needed} of ${trials} right are needed: that many come by guessing less often than once in ${Math.round(1 / significance)} tests.`;
}

/** One test. The places of the tokens are drawn once and stay. */
export class BlindPart {
  readonly #session: BlindSession;
  #token: BlindToken | null = null;

  /** @param seed from the browser's own source of randomness, not kept */
  constructor(trials: number, seed: number) {
    this.#session = new BlindSession(identifyPlan(trials, seed));
  }

  /** The box that was pressed last in this trial. */
  get token(): BlindToken | null {
    return this.#token;
  }

  get ended(): boolean {
    return this.#session.progress.phase === 'ended';
  }

  get words(): string {
    const { number, of } = this.#session.progress;
    return number === null ? 'The test has ended.' : `Trial ${number} of ${of}`;
  }

  hear(token: BlindToken): Way {
    const side = this.#session.hear(token);
    this.#token = token;
    return ways[side]!;
  }

  /** X is A, or X is B. */
  answer(answer: 1 | 2): void {
    this.#session.answer(answer);
    this.#token = null;
  }

  stop(): void {
    this.#session.stop();
  }

  /** Sentences, the most important first; none before the end. */
  result(): readonly string[] {
    const ended = this.#session.ended();
    return ended === null ? [] : blindResult(this.#session.plan, ended).words;
  }
}
