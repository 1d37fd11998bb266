// Doubling and halving the rate by two all-pass paths, each running at the lower rate.
import { SMALLEST_STATE } from './stage-runner.ts';
import type { StageRunner } from './stage-runner.ts';

/**
 * A chain of sections (α + z⁻¹)/(1 + α z⁻¹), run over a block two sections at a time: their states then stay in registers, and
 * the only chain of dependent operations is one product and one difference a frame.
 */
class AllPassChain {
  private readonly coefficients: Float64Array;
  /** Last input and last output of each section, masked. */
  private readonly states: Float64Array;

  constructor(coefficients: Float64Array) {
    this.coefficients = coefficients;
    this.states = new Float64Array(2 * coefficients.length);
  }

  reset(): void {
    this.states.fill(0);
  }

  /** In place on `samples[0 … frames − 1]`. Audio thread: allocates nothing. */
  run(samples: Float64Array, frames: number): void {
    const count = this.coefficients.length;
    let section = 0;
    for (; section + 2 <= count; section += 2) this.runPair(section, samples, frames);
    if (section < count) this.runOne(section, samples, frames);
  }

  private runPair(section: number, samples: Float64Array, frames: number): void {
    const a = this.coefficients[section]!;
    const b = this.coefficients[section + 1]!;
    const states = this.states;
    let inputA = states[2 * section]!;
    let outputA = states[2 * section + 1]!;
    let inputB = states[2 * section + 2]!;
    let outputB = states[2 * section + 3]!;
    for (let i = 0; i < frames; i++) {
      const x = samples[i]!;
      const y = a * x + inputA - a * outputA;
      inputA = x;
      outputA = Math.abs(y) < SMALLEST_STATE ? 0 : y;
      const z = b * outputA + inputB - b * outputB;
      inputB = outputA;
      outputB = Math.abs(z) < SMALLEST_STATE ? 0 : z;
      samples[i] = outputB;
    }
    states[2 * section] = inputA;
    states[2 * section + 1] = outputA;
    states[2 * section + 2] = inputB;
    states[2 * section + 3] = outputB;
  }

  private runOne(section: number, samples: Float64Array, frames: number): void {
    const a = this.coefficients[section]!;
    const states = this.states;
    let input = states[2 * section]!;
    let output = states[2 * section + 1]!;
    for (let i = 0; i < frames; i++) {
      const x = samples[i]!;
      const y = a * x + input - a * output;
      input = x;
      output = Math.abs(y) < SMALLEST_STATE ? 0 : y;
      samples[i] = output;
    }
    states[2 * section] = input;
    states[2 * section + 1] = output;
  }
}

/** Doubles the rate: even frames come from the first path, odd ones from the second. */
export class AllPassInterpolator implements StageRunner {
  readonly input: Float64Array;
  readonly inputStart = 0;
  private readonly first: AllPassChain;
  private readonly second: AllPassChain;
  private readonly firstOutput: Float64Array;

  constructor(firstPath: Float64Array, secondPath: Float64Array, maxFrames: number) {
    this.input = new Float64Array(maxFrames);
    this.firstOutput = new Float64Array(maxFrames);
    this.first = new AllPassChain(firstPath);
    this.second = new AllPassChain(secondPath);
  }

  reset(): void {
    this.first.reset();
    this.second.reset();
  }

  /** Audio thread: allocates nothing. */
  run(frames: number, output: Float64Array, outputOffset: number): void {
    const secondOutput = this.input;
    const firstOutput = this.firstOutput;
    for (let n = 0; n < frames; n++) firstOutput[n] = secondOutput[n]!;
    this.first.run(firstOutput, frames);
    this.second.run(secondOutput, frames);
    for (let n = 0; n < frames; n++) {
      output[outputOffset + 2 * n] = firstOutput[n]!;
      output[outputOffset + 2 * n + 1] = secondOutput[n]!;
    }
  }
}

/** Halves the rate: the mean of the first path fed with odd frames and the second fed with the even ones before them. */
export class AllPassDecimator implements StageRunner {
  readonly input: Float64Array;
  readonly inputStart: number;
  private readonly first: AllPassChain;
  private readonly second: AllPassChain;
  private readonly odd: Float64Array;
  private readonly even: Float64Array;

  /** `delayFrames` whole frames at the higher rate are added. */
  constructor(firstPath: Float64Array, secondPath: Float64Array, maxFrames: number, delayFrames: number) {
    this.inputStart = delayFrames;
    this.input = new Float64Array(delayFrames + 2 * maxFrames);
    this.odd = new Float64Array(maxFrames);
    this.even = new Float64Array(maxFrames);
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
    const { odd, even } = this;
    for (let n = 0; n < frames; n++) {
      odd[n] = v[2 * n + 1]!;
      even[n] = v[2 * n]!;
    }
    this.first.run(odd, frames);
    this.second.run(even, frames);
    for (let n = 0; n < frames; n++) {
      const sum = odd[n]! + even[n]!;
      output[outputOffset + n] = Math.abs(sum) < SMALLEST_STATE ? 0 : 0.5 * sum;
    }
    v.copyWithin(0, 2 * frames, 2 * frames + this.inputStart);
  }
}
