/** A blind comparison while it runs: which token stands for what, the answers, and when it ends. Held by a worker; the page knows tokens only. */
import type { BlindAnswer, BlindPlan, BlindToken, BlindTrial, Side } from './blind-plan.ts';
import { BlindTrials, mostExcerpts } from './blind-plan.ts';
import { sequentialVerdict } from './sequential-test.ts';

/** A trial that was answered. */
export interface AnsweredTrial extends BlindTrial {
  readonly answer: BlindAnswer;
  /** ABX: whether the answer named X; of a null trial and of preference null. */
  readonly hit: boolean | null;
  /** How often each token was listened to. */
  readonly listens: Readonly<Record<BlindToken, number>>;
  /** Which excerpts were heard, from 1, ascending. */
  readonly excerpts: readonly number[];
}

/** What may be shown while it runs: nothing that depends on an answer being right. */
export interface BlindProgress {
  readonly phase: 'training' | 'trials' | 'ended';
  /** Of this trial in its phase, from 1; null when ended. */
  readonly number: number | null;
  /** Trials of this phase; null where a sequential rule decides. */
  readonly of: number | null;
}

/** What an answer is answered with: in training the truth, in trials nothing. */
export interface BlindReply {
  readonly progress: BlindProgress;
  /** Of a training trial of ABX: what X was. */
  readonly truth: 'A' | 'B' | null;
}

/** Throws RangeError for a plan that is none; a token or answer out of place throws RangeError and changes nothing. */
export class BlindSession {
  readonly plan: BlindPlan;
  readonly #trials: BlindTrials;
  readonly #training: readonly BlindTrial[];
  readonly #count: number | null;
  #trainingDone = 0;
  #current: BlindTrial | null;
  #listens: Record<BlindToken, number> = { A: 0, B: 0, X: 0 };
  readonly #excerptCount: number;
  #excerpt = 1;
  readonly #excerptsHeard = new Set<number>();
  readonly #answered: AnsweredTrial[] = [];
  #stopped = false;

  /** @param excerptCount of the parts of the programme that the listener chooses among */
  constructor(plan: BlindPlan, excerptCount = 1) {
    if (!Number.isInteger(excerptCount) || excerptCount < 1 || excerptCount > mostExcerpts) throw new RangeError(`excerpts: expected 1 to ${mostExcerpts}, got ${excerptCount}`);
    this.plan = plan;
    this.#excerptCount = excerptCount;
    this.#trials = new BlindTrials(plan);
    this.#count = this.#trials.count;
    this.#training = this.#trials.training();
    this.#current = this.#training[0] ?? this.#trials.next();
  }

  get progress(): BlindProgress {
    if (this.#current === null) return { phase: 'ended', number: null, of: null };
    if (this.#trainingDone < this.#training.length) return { phase: 'training', number: this.#trainingDone + 1, of: this.#training.length };
    return { phase: 'trials', number: this.#answered.length + 1, of: this.#count };
  }

  /** Which side sounds for a token; counted as a listen. */
  hear(token: BlindToken): Side {
    const trial = this.#requireTrial();
    const side = trial[token];
    if (side === null) throw new RangeError(`token: expected A or B, got ${token}`);
    this.#listens[token] += 1;
    this.#excerptsHeard.add(this.#excerpt);
    return side;
  }

  /** Another excerpt, from 1, for all tokens alike and for the trials that follow. */
  choose(excerpt: number): void {
    this.#requireTrial();
    if (!Number.isInteger(excerpt) || excerpt < 1 || excerpt > this.#excerptCount) throw new RangeError(`excerpt: expected 1 to ${this.#excerptCount}, got ${excerpt}`);
    this.#excerpt = excerpt;
    // What was heard last in this trial goes on with it.
    if (this.#listens.A + this.#listens.B + this.#listens.X > 0) this.#excerptsHeard.add(excerpt);
  }

  answer(answer: BlindAnswer): BlindReply {
    const trial = this.#requireTrial();
    const { task } = this.plan;
    if (task === 'identify' && answer === 0) throw new RangeError('answer: expected 1 or 2, got 0: X is one of the two');
    if (this.#trainingDone < this.#training.length) {
      const truth = trial.X === null ? null : trial.X === trial.A ? 'A' : 'B';
      this.#trainingDone += 1;
      this.#begin(this.#training[this.#trainingDone] ?? this.#trials.next());
      return { progress: this.progress, truth };
    }
    const hit = task === 'prefer' || trial.isNull ? null : (answer === 1) === (trial.X === trial.A);
    this.#answered.push({ ...trial, answer, hit, listens: this.#listens, excerpts: [...this.#excerptsHeard].sort((a, b) => a - b) });
    this.#begin(this.#isDone() ? null : this.#trials.next());
    return { progress: this.progress, truth: null };
  }

  /** The listener leaves before the end; what was answered stands. */
  stop(): void {
    if (this.#current === null) return;
    this.#stopped = true;
    this.#current = null;
  }

  /** Null until it has ended: nothing is told before the last answer. */
  ended(): { readonly trials: readonly AnsweredTrial[]; readonly stopped: boolean; readonly of: number | null } | null {
    return this.#current === null ? { trials: this.#answered, stopped: this.#stopped, of: this.#count } : null;
  }

  #begin(trial: BlindTrial | null): void {
    this.#current = trial;
    this.#listens = { A: 0, B: 0, X: 0 };
    this.#excerptsHeard.clear();
  }

  #isDone(): boolean {
    const { length } = this.plan;
    if (length.kind === 'fixed') return this.#answered.length === this.#count;
    const real = this.#answered.filter(({ isNull }) => !isNull);
    return sequentialVerdict(length.plan, real.filter(({ hit }) => hit).length, real.length) !== 'go on';
  }

  #requireTrial(): BlindTrial {
    if (this.#current === null) throw new RangeError('trial: expected one under way, got a comparison that has ended');
    return this.#current;
  }
}
