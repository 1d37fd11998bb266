import { mixAt } from './block-work.ts';
import type { BlockWork, MixNumbers } from './block-work.ts';

/** Static gains of the level match as ratios. */
export interface MatchGains {
  readonly inGain: number;
  readonly outGain: number;
}

/** What mixes: the back end, the weights of a fade at the base rate, and numbers to be written for it. */
export interface Mixer {
  readonly work: BlockWork;
  readonly weights: Float64Array;
  readonly mixNumbers: MixNumbers;
}

/**
 * The switch of what is on trial and the gains that make both ways equally loud, at the base rate. Position 0 is out, the last weight is in.
 * All for the audio thread: nothing allocates.
 */
export class TrialMix {
  /** Where the switch stands, in base frames of its fade, and where it moves: −1, 0 or 1 a frame. */
  position: number;
  step = 0;
  trialIn = true;
  readonly #last: number;
  #wantedIn = true;
  #gainsBefore: MatchGains = { inGain: 1, outGain: 1 };
  #gains: MatchGains = { inGain: 1, outGain: 1 };
  #wantedGains: MatchGains | null = null;
  #gainPosition: number;

  /** Base frames of a fade. */
  constructor(steps: number) {
    this.#last = steps;
    this.position = this.#last;
    this.#gainPosition = this.#last;
  }

  want(trialIn: boolean): void {
    this.#wantedIn = trialIn;
  }

  wantGains(gains: MatchGains): void {
    this.#wantedGains = gains;
  }

  /** Something was asked for that has not begun. */
  get waits(): boolean {
    return this.#wantedIn !== this.trialIn || this.#wantedGains !== null;
  }

  /** Begins what was asked for. */
  land(): void {
    if (this.#wantedIn !== this.trialIn) {
      this.trialIn = this.#wantedIn;
      this.step = this.trialIn ? 1 : -1;
    }
    if (this.#wantedGains !== null && this.#gainPosition >= this.#last) {
      this.#gainsBefore = this.#gains;
      this.#gains = this.#wantedGains;
      this.#wantedGains = null;
      this.#gainPosition = 0;
    }
  }

  /**
   * Mixes a block in place of `wet`. `polarity`: of what is in; what is out is turned alike. Without `bothWays` the signal has switched already (a stage on trial, by its chain) and only the gain
   * follows the switch.
   */
  mix({ work, weights, mixNumbers }: Mixer, polarity: 1 | -1, bothWays: boolean, wet: Float64Array, dry: Float64Array, frames: number): void {
    mixNumbers[mixAt.inGain] = this.#gains.inGain;
    mixNumbers[mixAt.outGain] = this.#gains.outGain;
    mixNumbers[mixAt.inGainBefore] = this.#gainsBefore.inGain;
    mixNumbers[mixAt.outGainBefore] = this.#gainsBefore.outGain;
    mixNumbers[mixAt.polarity] = polarity;
    work.mix(wet, dry, frames, weights, this.position, this.step, this.#gainPosition, mixNumbers, bothWays);
  }

  advance(frames: number): void {
    this.position = Math.max(0, Math.min(this.#last, this.position + this.step * frames));
    if (this.position === 0 || this.position === this.#last) this.step = 0;
    this.#gainPosition = Math.min(this.#last, this.#gainPosition + frames);
  }

  /** Everything asked for is in force at once. */
  reset(): void {
    this.trialIn = this.#wantedIn;
    this.position = this.trialIn ? this.#last : 0;
    this.step = 0;
    this.#gains = this.#wantedGains ?? this.#gains;
    this.#wantedGains = null;
    this.#gainPosition = this.#last;
  }
}
