// Doubling and halving the rate by two all-pass paths, each running at the lower rate.
import { bytesOf } from './ladder-memory.ts';
import type { LadderMemory } from './ladder-memory.ts';
import type { AllPassPair, LadderWork } from './ladder-work.ts';
import type { StageRunner } from './stage-runner.ts';

/** Lane 0 and lane 1 of what stands in pairs. */
function allPassPair(lane0: Float64Array, lane1: Float64Array, memory: LadderMemory): AllPassPair {
  const sections = Math.max(lane0.length, lane1.length);
  const coefficients = memory.floats(2 * sections);
  lane0.forEach((coefficient, section) => { coefficients[2 * section] = coefficient; });
  lane1.forEach((coefficient, section) => { coefficients[2 * section + 1] = coefficient; });
  return { coefficients, states: memory.floats(4 * sections), counts: [lane0.length, lane1.length] };
}

function pairBytes(lane0: Float64Array, lane1: Float64Array): number {
  return bytesOf(2, 6 * Math.max(lane0.length, lane1.length));
}

/** Doubles the rate: even frames come from the first path, odd ones from the second, so that a pair of both is two frames of the output. */
export class AllPassInterpolator implements StageRunner {
  readonly input: Float64Array;
  readonly inputStart = 0;
  private readonly work: LadderWork;
  private readonly paths: AllPassPair;

  constructor(firstPath: Float64Array, secondPath: Float64Array, maxFrames: number, memory: LadderMemory) {
    this.work = memory.work;
    this.input = memory.floats(maxFrames);
    this.paths = allPassPair(firstPath, secondPath, memory);
  }

  static bytes(firstPath: Float64Array, secondPath: Float64Array, maxFrames: number): number {
    return bytesOf(1, maxFrames) + pairBytes(firstPath, secondPath);
  }

  reset(): void {
    this.paths.states.fill(0);
  }

  /** Audio thread: allocates nothing. */
  run(frames: number, output: Float64Array, outputOffset: number): void {
    this.work.double(this.input, frames, output, outputOffset);
    this.work.allPass(this.paths, output, outputOffset, frames);
  }
}

/** Halves the rate: the mean of the first path fed with odd frames and the second fed with the even ones before them. */
export class AllPassDecimator implements StageRunner {
  readonly input: Float64Array;
  readonly inputStart: number;
  private readonly work: LadderWork;
  private readonly paths: AllPassPair;

  /** `delayFrames` whole frames at the higher rate are added. */
  constructor(firstPath: Float64Array, secondPath: Float64Array, maxFrames: number, delayFrames: number, memory: LadderMemory) {
    this.work = memory.work;
    this.inputStart = delayFrames;
    this.input = memory.floats(delayFrames + 2 * maxFrames);
    this.paths = allPassPair(secondPath, firstPath, memory);
  }

  static bytes(firstPath: Float64Array, secondPath: Float64Array, maxFrames: number, delayFrames: number): number {
    return bytesOf(1, delayFrames + 2 * maxFrames) + pairBytes(firstPath, secondPath);
  }

  reset(): void {
    this.input.fill(0);
    this.paths.states.fill(0);
  }

  /** Audio thread: allocates nothing. */
  run(frames: number, output: Float64Array, outputOffset: number): void {
    this.work.allPass(this.paths, this.input, 0, frames);
    this.work.halve(this.input, frames, output, outputOffset);
    this.input.copyWithin(0, 2 * frames, 2 * frames + this.inputStart);
  }
}
