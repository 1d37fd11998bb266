import type { PathPlan } from './plan.ts';

/** Static gains of the level match as ratios. */
export interface MatchGains {
  readonly inGain: number;
  readonly outGain: number;
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
  readonly #weights: Float64Array;
  readonly #last: number;
  #wantedIn = true;
  #gainsBefore: MatchGains = { inGain: 1, outGain: 1 };
  #gains: MatchGains = { inGain: 1, outGain: 1 };
  #wantedGains: MatchGains | null = null;
  #gainPosition: number;

  constructor(weights: Float64Array) {
    this.#weights = weights;
    this.#last = weights.length - 1;
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

  /** Mixes a block in place of `wet`. With a stage on trial the chain has switched already and only the gain follows the switch. */
  mix(plan: PathPlan, wet: Float64Array, dry: Float64Array, frames: number): void {
    const weights = this.#weights;
    const last = this.#last;
    const wholePath = plan.onTrial.kind === 'path';
    const polarity = plan.trialPolarity;
    for (let i = 0; i < frames; i += 1) {
      const at = this.position + this.step * (i + 1);
      const weight = weights[at < 0 ? 0 : at > last ? last : at]!;
      let { inGain, outGain } = this.#gains;
      const gainAt = this.#gainPosition + i + 1;
      if (gainAt < last) {
        const gainWeight = weights[gainAt]!;
        inGain = gainWeight * inGain + (1 - gainWeight) * this.#gainsBefore.inGain;
        outGain = gainWeight * outGain + (1 - gainWeight) * this.#gainsBefore.outGain;
      }
      if (weight === 1) wet[i] = wet[i]! * inGain;
      else if (weight === 0) wet[i] = (wholePath ? polarity * dry[i]! : wet[i]!) * outGain;
      else if (wholePath) wet[i] = weight * inGain * wet[i]! + (1 - weight) * outGain * (polarity * dry[i]!);
      else wet[i] = wet[i]! * (weight * inGain + (1 - weight) * outGain);
    }
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
