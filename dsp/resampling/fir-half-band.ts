// Doubling and halving the rate by a linear-phase half-band filter: only the taps that are not zero, mirrored taps as pairs.
import { bytesOf } from './ladder-memory.ts';
import type { LadderMemory } from './ladder-memory.ts';
import type { LadderWork } from './ladder-work.ts';
import type { StageRunner } from './stage-runner.ts';

/** Doubles the rate. Of a filter of 4m + 3 taps with gain 2, even output frames are Σ 2h[2j] x[n − j]; odd ones are x[n − m], the centre tap alone. */
export class FirInterpolator implements StageRunner {
  readonly input: Float64Array;
  readonly inputStart: number;
  private readonly work: LadderWork;
  private readonly taps: Float64Array;

  /** `sideTaps` as in HalfBandFir; `maxFrames` at the lower rate. */
  constructor(sideTaps: Float64Array, maxFrames: number, memory: LadderMemory) {
    this.work = memory.work;
    this.taps = memory.floats(sideTaps.length);
    sideTaps.forEach((tap, j) => { this.taps[j] = 2 * tap; });
    this.inputStart = 2 * sideTaps.length - 1;
    this.input = memory.floats(this.inputStart + maxFrames);
  }

  static bytes(sideTaps: Float64Array, maxFrames: number): number {
    return bytesOf(2, 3 * sideTaps.length + maxFrames);
  }

  reset(): void {
    this.input.fill(0);
  }

  /** Audio thread: allocates nothing. */
  run(frames: number, output: Float64Array, outputOffset: number): void {
    this.work.interpolate(this.input, this.inputStart, this.taps, frames, output, outputOffset);
    this.input.copyWithin(0, frames, frames + this.inputStart);
  }
}

/**
 * Halves the rate: y[n] = ½ v[2n − 2m − 1] + Σ h[2j] v[2n − 2j], frames outside the pass band kept out. Even and odd frames of the past stand apart, so that those a sum needs lie
 * side by side. `delayFrames` (at the higher rate) is added at no cost.
 */
export class FirDecimator implements StageRunner {
  readonly input: Float64Array;
  readonly inputStart = 0;
  private readonly work: LadderWork;
  private readonly taps: Float64Array;
  /** Whether a frame that comes in first is an odd one of the past. */
  private readonly startsOdd: boolean;
  private readonly even: Float64Array;
  private readonly evenPast: number;
  private readonly odd: Float64Array;
  private readonly oddPast: number;

  constructor(sideTaps: Float64Array, maxFrames: number, delayFrames: number, memory: LadderMemory) {
    const past = pastFrames(sideTaps, delayFrames);
    this.work = memory.work;
    this.taps = memory.floats(sideTaps.length);
    this.taps.set(sideTaps);
    this.input = memory.floats(2 * maxFrames);
    this.startsOdd = past % 2 === 1;
    this.evenPast = Math.ceil(past / 2);
    this.oddPast = Math.floor(past / 2);
    this.even = memory.floats(this.evenPast + maxFrames);
    this.odd = memory.floats(this.oddPast + maxFrames);
  }

  static bytes(sideTaps: Float64Array, maxFrames: number, delayFrames: number): number {
    return bytesOf(4, sideTaps.length + pastFrames(sideTaps, delayFrames) + 4 * maxFrames);
  }

  reset(): void {
    this.even.fill(0);
    this.odd.fill(0);
  }

  /** Audio thread: allocates nothing. */
  run(frames: number, output: Float64Array, outputOffset: number): void {
    const { work, even, odd, evenPast, oddPast } = this;
    if (this.startsOdd) work.split(this.input, frames, odd, oddPast, even, evenPast);
    else work.split(this.input, frames, even, evenPast, odd, oddPast);
    work.decimate(even, odd, this.taps, frames, output, outputOffset);
    even.copyWithin(0, frames, frames + evenPast);
    odd.copyWithin(0, frames, frames + oddPast);
  }
}

function pastFrames(sideTaps: Float64Array, delayFrames: number): number {
  return 4 * sideTaps.length - 2 + delayFrames;
}
