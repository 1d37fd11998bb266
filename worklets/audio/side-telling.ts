import type { MatchGains, PathRunner } from '../../dsp/path/index.ts';
import type { FromProcessor, LoggedRequest, LoopPosition } from '../messages.ts';

/**
 * What the page is told of the path: what has landed, which side sounds, and what a log of the performance needs. While it conceals, nothing that could tell which side sounds.
 * Audio thread: allocates nothing but its messages.
 */
export class SideTelling {
  readonly #post: (message: FromProcessor) => void;
  #landedRevision: number;
  #toldTrialIn: boolean;
  #conceals = false;
  #unlogged = false;

  constructor(revision: number, trialIn: boolean, post: (message: FromProcessor) => void) {
    this.#landedRevision = revision;
    this.#toldTrialIn = trialIn;
    this.#post = post;
  }

  get conceals(): boolean {
    return this.#conceals;
  }

  /** Something was heard that no log gives again: another begins with the next start from silence. */
  get awaitsLog(): boolean {
    return this.#unlogged && !this.#conceals;
  }

  conceal(): void {
    this.#conceals = true;
    this.endLog();
  }

  /** As the page said itself: which side sounded until now is told to nobody. */
  reveal(trialIn: boolean): void {
    this.#conceals = false;
    this.#toldTrialIn = trialIn;
  }

  /** The path stands at frame 0. */
  began(runner: PathRunner, trialIn: boolean, { inGain, outGain }: MatchGains, tone: boolean, live: boolean, position: LoopPosition): void {
    if (!this.#conceals) {
      this.#unlogged = false;
      this.#post({ kind: 'began', revision: runner.landedRevision, trialIn, inGain, outGain, tone, live, position });
    }
    this.landed(runner, trialIn);
  }

  log(frame: number, change: LoggedRequest): void {
    if (!this.#conceals) this.#post({ kind: 'logged', frame, change });
  }

  endLog(): void {
    if (this.#unlogged) return;
    this.#unlogged = true;
    this.#post({ kind: 'unlogged' });
  }

  /** After whatever may have landed; `trialIn`: that was asked for. */
  landed(runner: PathRunner, trialIn: boolean): void {
    const { landedRevision, frame } = runner;
    if (landedRevision !== this.#landedRevision) {
      this.#landedRevision = landedRevision;
      this.#post({ kind: 'landed', revision: landedRevision, frame });
    }
    if (!this.#conceals && runner.trialIn === trialIn && trialIn !== this.#toldTrialIn) {
      this.#toldTrialIn = trialIn;
      this.#post({ kind: 'switched', trialIn, frame });
    }
  }
}
