// Blind worker: holds which token stands for what until the last answer, and which side a sitting plays. The page knows tokens; the audio thread hears from here which side to sound.
import * as Comlink from 'comlink';
import { blindResult, BlindSession, sittingSides, type AnsweredTrial, type BlindAnswer, type BlindPlan, type BlindProgress, type BlindReply, type BlindResult, type BlindToken, type LongPlan } from '../../dsp/listening/index.ts';
import type { BlindSwitch } from '../messages.ts';

/** What a comparison that has ended leaves: everything needed to check it. */
export interface BlindRecord {
  readonly plan: BlindPlan;
  /** Side 0 is what is on trial in circuit, side 1 out. */
  readonly trials: readonly AnsweredTrial[];
  readonly stopped: boolean;
  readonly result: BlindResult;
}

class BlindBench {
  #session: BlindSession | null = null;
  #audio: MessagePort | null = null;
  #heard = true;

  /** Throws RangeError with a sentence for a plan that is none. */
  begin(plan: BlindPlan, excerptCount = 1): BlindProgress {
    this.#session = new BlindSession(plan, excerptCount);
    return this.#session.progress;
  }

  /** The way to the audio thread, also to a new one: it hears at once what is to sound. */
  connect(audio: MessagePort): void {
    this.#audio?.close();
    this.#audio = audio;
    this.#sound();
  }

  hear(token: BlindToken): void {
    this.#heard = this.#running().hear(token) === 0;
    this.#sound();
  }

  /** A sitting of a long listening, from 0: its one side sounds throughout, and is told to nobody. Throws RangeError with a sentence. */
  sit(plan: LongPlan, sitting: number): void {
    const side = sittingSides(plan)[sitting];
    if (side === undefined) throw new RangeError(`sitting: expected 0 to ${2 * plan.pairs - 1}, got ${sitting}`);
    this.#heard = side === 0;
    this.#sound();
  }

  /** Which excerpt is heard from here on, from 1; what sounds of it is the page's affair, the same for every token. */
  choose(excerpt: number): void {
    this.#running().choose(excerpt);
  }

  #sound(): void {
    this.#audio?.postMessage({ kind: 'hear', trialIn: this.#heard } satisfies BlindSwitch);
  }

  answer(answer: BlindAnswer): BlindReply {
    return this.#running().answer(answer);
  }

  /** The listener leaves; what was answered stands. */
  stop(): void {
    this.#session?.stop();
  }

  /** Null before the last answer. */
  record(): BlindRecord | null {
    const ended = this.#session?.ended() ?? null;
    if (ended === null) return null;
    const { plan } = this.#session!;
    return { plan, trials: ended.trials, stopped: ended.stopped, result: blindResult(plan, ended) };
  }

  #running(): BlindSession {
    if (this.#session === null) throw new RangeError('comparison: expected one to have begun, got none');
    return this.#session;
  }
}

export type Blind = BlindBench;
Comlink.expose(new BlindBench());
