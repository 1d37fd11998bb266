import { fadeFrames, fadeWeights } from '../../dsp/path/index.ts';

/**
 * The one act that every press of a blind comparison performs, whichever side comes next: down over 10 ms, silent for a while, up over 10 ms. What has to change changes in the silence, so that
 * nothing at the edges of a press tells a switch from none. The weights are those of every fade. Audio thread: allocates nothing, never throws.
 */
export class Dip {
  readonly #weights: Float64Array;
  readonly #last: number;
  #position: number;
  #step: -1 | 0 | 1 = 0;
  #quietFrames = 0;
  #quietLeft = 0;
  #fellSilent = false;

  constructor(rateHz: number) {
    this.#last = fadeFrames(rateHz);
    this.#weights = fadeWeights(this.#last);
    this.#position = this.#last;
  }

  /** From wherever it stands; in the silence of one before, that silence begins anew. */
  begin(quietFrames: number): void {
    this.#quietFrames = quietFrames;
    if (this.#position === 0) this.#fallSilent();
    else this.#step = -1;
  }

  /** Nothing sounds anyway: it begins in its silence. */
  beginSilent(quietFrames: number): void {
    this.#position = 0;
    this.begin(quietFrames);
  }

  /** True once for each silence, after it has begun: now is the time to change what sounds. */
  takeSilence(): boolean {
    const fell = this.#fellSilent;
    this.#fellSilent = false;
    return fell;
  }

  /** Gain of the next frame. */
  next(): number {
    if (this.#step !== 0) {
      this.#position += this.#step;
      if (this.#position === 0) this.#fallSilent();
      else if (this.#position === this.#last) this.#step = 0;
    } else if (this.#position === 0) {
      this.#quietLeft -= 1;
      if (this.#quietLeft <= 0) this.#step = 1;
    }
    return this.#weights[this.#position]!;
  }

  #fallSilent(): void {
    this.#step = 0;
    this.#quietLeft = this.#quietFrames;
    this.#fellSilent = true;
  }
}
