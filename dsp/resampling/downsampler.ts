// From the internal rate back to the base rate, one channel, with the delay that makes the latency whole.
import { AllPassDecimator } from './all-pass-half-band.ts';
import { FirDecimator } from './fir-half-band.ts';
import type { LadderDesign } from './ladder-design.ts';
import { CHUNK_BASE_FRAMES, SMALLEST_STATE } from './stage-runner.ts';
import type { StageRunner } from './stage-runner.ts';

/** Runs the stages of a design downwards, after `padFrames` of delay. Any number of frames a call; the output does not depend on how they are cut. */
export class Downsampler {
  private readonly factor: number;
  /** From the internal rate downwards. */
  private readonly runners: StageRunner[];
  private readonly fraction: FractionalDelay | undefined;

  constructor(design: LadderDesign) {
    this.factor = design.factor;
    // Whole frames are a delay line; a rest between ½ and 1½ frames is a first-order all-pass.
    const wholeFrames = Number.isInteger(design.padFrames) ? design.padFrames : Math.floor(design.padFrames - 0.5);
    this.fraction = Number.isInteger(design.padFrames) ? undefined : new FractionalDelay(design.padFrames - wholeFrames);
    this.runners = design.stages.map((stage, i) => {
      const maxFrames = CHUNK_BASE_FRAMES << i;
      const delayFrames = i === design.stages.length - 1 ? wholeFrames : 0;
      return stage.kind === 'linear-phase'
        ? new FirDecimator(stage.sideTaps, maxFrames, delayFrames)
        : new AllPassDecimator(stage.firstPath, stage.secondPath, maxFrames, delayFrames);
    }).reverse();
  }

  /** Silence before frame 0, as after construction. */
  reset(): void {
    for (const runner of this.runners) runner.reset();
    this.fraction?.reset();
  }

  /**
   * Reads `outputFrames × factor` values from `input[inputOffset …]`, writes `outputFrames` to `output[outputOffset …]`. The
   * arrays must not overlap. Audio thread: allocates nothing. Values below 1e-30 are written as 0.
   */
  process(input: Float64Array, inputOffset: number, outputFrames: number, output: Float64Array, outputOffset: number): void {
    const runners = this.runners;
    const count = runners.length;
    for (let done = 0; done < outputFrames; done += CHUNK_BASE_FRAMES) {
      const frames = Math.min(CHUNK_BASE_FRAMES, outputFrames - done);
      const first = count === 0 ? output : runners[0]!.input;
      const start = count === 0 ? outputOffset + done : runners[0]!.inputStart;
      const from = inputOffset + done * this.factor;
      for (let i = 0; i < frames * this.factor; i++) {
        const value = input[from + i]!;
        first[start + i] = Math.abs(value) < SMALLEST_STATE ? 0 : value;
      }
      if (this.fraction !== undefined) this.fraction.run(first, start, frames * this.factor);
      for (let i = 0; i < count; i++) {
        const next = i + 1 < count ? runners[i + 1]! : undefined;
        const lowerFrames = frames << (count - 1 - i);
        if (next === undefined) runners[i]!.run(lowerFrames, output, outputOffset + done);
        else runners[i]!.run(lowerFrames, next.input, next.inputStart);
      }
    }
  }
}

/** (a + z⁻¹)/(1 + a z⁻¹), a = (1 − d)/(1 + d): a delay of d frames at low frequency, flat in level. Source: J.-P. Thiran 1971, first order. */
class FractionalDelay {
  private readonly coefficient: number;
  private lastInput = 0;
  private lastOutput = 0;

  constructor(delayFrames: number) {
    this.coefficient = (1 - delayFrames) / (1 + delayFrames);
  }

  reset(): void {
    this.lastInput = 0;
    this.lastOutput = 0;
  }

  /** In place. Audio thread: allocates nothing. */
  run(samples: Float64Array, start: number, frames: number): void {
    for (let i = start; i < start + frames; i++) {
      const x = samples[i]!;
      const y = this.coefficient * (x - this.lastOutput) + this.lastInput;
      this.lastInput = x;
      this.lastOutput = Math.abs(y) < SMALLEST_STATE ? 0 : y;
      samples[i] = this.lastOutput;
    }
  }
}
