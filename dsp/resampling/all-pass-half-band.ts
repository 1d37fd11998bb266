// Doubling and halving the rate by two all-pass paths, each running at the lower rate.
import { SMALLEST_STATE } from './stage-runner.ts';
import type { StageRunner } from './stage-runner.ts';

/** A chain of sections (α + z⁻¹)/(1 + α z⁻¹); neighbours share their states. */
class AllPassChain {
  private readonly coefficients: Float64Array;
  /** The last input of each section, which is the last output of the one before; at the end the last output. */
  private readonly states: Float64Array;

  constructor(coefficients: Float64Array) {
    this.coefficients = coefficients;
    this.states = new Float64Array(coefficients.length + 1);
  }

  reset(): void {
    this.states.fill(0);
  }

  /** Audio thread: allocates nothing. */
  next(sample: number): number {
    const coefficients = this.coefficients;
    const states = this.states;
    const count = coefficients.length;
    let x = sample;
    for (let i = 0; i < count; i++) {
      const y = coefficients[i]! * (x - states[i + 1]!) + states[i]!;
      states[i] = x;
      x = y < SMALLEST_STATE && y > -SMALLEST_STATE ? 0 : y;
    }
    states[count] = x;
    return x;
  }
}

/** Doubles the rate: even frames come from the first path, odd ones from the second. */
export class AllPassInterpolator implements StageRunner {
  readonly input: Float64Array;
  readonly inputStart = 0;
  private readonly first: AllPassChain;
  private readonly second: AllPassChain;

  constructor(firstPath: Float64Array, secondPath: Float64Array, maxFrames: number) {
    this.input = new Float64Array(maxFrames);
    this.first = new AllPassChain(firstPath);
    this.second = new AllPassChain(secondPath);
  }

  reset(): void {
    this.first.reset();
    this.second.reset();
  }

  /** Audio thread: allocates nothing. */
  run(frames: number, output: Float64Array, outputOffset: number): void {
    const x = this.input;
    for (let n = 0; n < frames; n++) {
      output[outputOffset + 2 * n] = this.first.next(x[n]!);
      output[outputOffset + 2 * n + 1] = this.second.next(x[n]!);
    }
  }
}

/** Halves the rate: the mean of the first path fed with odd frames and the second fed with the even ones before them. */
export class AllPassDecimator implements StageRunner {
  readonly input: Float64Array;
  readonly inputStart: number;
  private readonly first: AllPassChain;
  private readonly second: AllPassChain;

  /** `delayFrames` whole frames at the higher rate are added. */
  constructor(firstPath: Float64Array, secondPath: Float64Array, maxFrames: number, delayFrames: number) {
    this.inputStart = delayFrames;
    this.input = new Float64Array(delayFrames + 2 * maxFrames);
    this.first = new AllPassChain(firstPath);
    this.second = new AllPassChain(secondPath);
  }

  reset(): void {
    this.input.fill(0);
    this.first.reset();
    this.second.reset();
  }

  /** Audio thread: allocates nothing. */
  run(frames: number, output: Float64Array, outputOffset: number): void {
    const v = this.input;
    for (let n = 0; n < frames; n++) {
      const sum = this.first.next(v[2 * n + 1]!) + this.second.next(v[2 * n]!);
      output[outputOffset + n] = sum < SMALLEST_STATE && sum > -SMALLEST_STATE ? 0 : 0.5 * sum;
    }
    v.copyWithin(0, 2 * frames, 2 * frames + this.inputStart);
  }
}
