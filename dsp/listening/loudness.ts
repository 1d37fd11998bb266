import { gatedLoudness, powerToLufs } from './gated-loudness.ts';
import { KFilter } from './k-weighting.ts';

/** A block is four steps of 100 ms: 75 % overlap. */
const stepsPerBlock = 4;
const stepSeconds = 0.1;

/** Channel weights of Recommendation ITU-R BS.1770-5, Annex 1, Table 3: front channels 1, surround channels 1.41. */
export const frontWeight = 1;
export const surroundWeight = 1.41;

/**
 * Gated integrated loudness, measured as samples arrive, in pieces of any size: so that a worker can stop, report or give up between them.
 *
 * Source: Recommendation ITU-R BS.1770-5 (11/2023), Annex 1. A step is 100 ms rounded to whole samples (exact at the usual rates); a block
 * begins at every step; an unfinished block at the end is left out. The result depends on the samples alone, not on the pieces.
 * Memory: eight bytes for every 100 ms. Not for the audio thread: the list of blocks grows.
 */
export class LoudnessMeter {
  private readonly filters: KFilter[];
  private readonly weights: readonly number[];
  private readonly stepFrames: number;
  private readonly stepSums: Float64Array;
  private readonly lastSteps = new Float64Array(stepsPerBlock);
  private framesInStep = 0;
  private stepCount = 0;
  private powers = new Float64Array(256);
  private count = 0;

  /** `channelWeights`: one factor on the power of each channel; front channels, 1, unless said. */
  constructor(rateHz: number, channelCount: number, channelWeights?: readonly number[]) {
    this.weights = channelWeights ?? new Array<number>(channelCount).fill(frontWeight);
    if (this.weights.length !== channelCount) throw new RangeError(`channel weights: expected ${channelCount}, got ${this.weights.length}`);
    this.filters = Array.from({ length: channelCount }, () => new KFilter(rateHz));
    this.stepFrames = Math.round(rateHz * stepSeconds);
    this.stepSums = new Float64Array(channelCount);
  }

  /** Complete blocks so far. */
  get blockCount(): number {
    return this.count;
  }

  /** Measures `frames` frames of every channel from `start` on. */
  push(channels: readonly Float64Array[], start: number, frames: number): void {
    const end = start + frames;
    for (let at = start; at < end;) {
      const length = Math.min(this.stepFrames - this.framesInStep, end - at);
      this.filters.forEach((filter, channel) => {
        this.stepSums[channel] = filter.addSquares(channels[channel]!, at, length, this.stepSums[channel]!);
      });
      at += length;
      this.framesInStep += length;
      if (this.framesInStep === this.stepFrames) this.closeStep();
    }
  }

  /** Forgets what was measured but keeps the filters running: measuring goes on as in the middle of a signal (a loop's second pass). */
  restart(): void {
    this.stepSums.fill(0);
    this.framesInStep = 0;
    this.stepCount = 0;
    this.count = 0;
  }

  /** Integrated loudness in LUFS if everything had been `gainRatio` times as large; −∞ where no block is above the gates. */
  integratedLufs(gainRatio = 1): number {
    return gatedLoudness(this.powers, this.count, gainRatio);
  }

  /** Loudness without gates: what a meter that lacks them would read. −∞ without a block. */
  ungatedLufs(): number {
    let sum = 0;
    for (let i = 0; i < this.count; i += 1) sum += this.powers[i]!;
    return powerToLufs(this.count === 0 ? 0 : sum / this.count);
  }

  private closeStep(): void {
    let sum = 0;
    for (let channel = 0; channel < this.weights.length; channel += 1) sum += this.weights[channel]! * this.stepSums[channel]!;
    this.stepSums.fill(0);
    this.framesInStep = 0;
    this.lastSteps[this.stepCount % stepsPerBlock] = sum;
    this.stepCount += 1;
    if (this.stepCount < stepsPerBlock) return;
    let blockSum = 0;
    for (let i = 0; i < stepsPerBlock; i += 1) blockSum += this.lastSteps[(this.stepCount + i) % stepsPerBlock]!;
    if (this.count === this.powers.length) {
      const larger = new Float64Array(2 * this.count);
      larger.set(this.powers);
      this.powers = larger;
    }
    this.powers[this.count] = blockSum / (stepsPerBlock * this.stepFrames);
    this.count += 1;
  }
}
