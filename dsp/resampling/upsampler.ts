// From the base rate to the internal rate, one channel.
import { AllPassInterpolator } from './all-pass-half-band.ts';
import { FirInterpolator } from './fir-half-band.ts';
import type { LadderDesign } from './ladder-design.ts';
import { CHUNK_BASE_FRAMES, SMALLEST_STATE } from './stage-runner.ts';
import type { StageRunner } from './stage-runner.ts';

/** Runs the stages of a design upwards. Any number of frames a call; the output does not depend on how they are cut. */
export class Upsampler {
  private readonly factor: number;
  private readonly runners: StageRunner[];

  constructor(design: LadderDesign) {
    this.factor = design.factor;
    this.runners = design.stages.map((stage, i) => {
      const maxFrames = CHUNK_BASE_FRAMES << i;
      return stage.kind === 'linear-phase'
        ? new FirInterpolator(stage.sideTaps, maxFrames)
        : new AllPassInterpolator(stage.firstPath, stage.secondPath, maxFrames);
    });
  }

  /** Silence before frame 0, as after construction. */
  reset(): void {
    for (const runner of this.runners) runner.reset();
  }

  /**
   * Reads `inputFrames` values from `input[inputOffset …]`, writes factor times as many to `output[outputOffset …]`. The
   * arrays must not overlap. Audio thread: allocates nothing. Values below 1e-30 are written as 0.
   */
  process(input: Float64Array, inputOffset: number, inputFrames: number, output: Float64Array, outputOffset: number): void {
    const runners = this.runners;
    for (let done = 0; done < inputFrames; done += CHUNK_BASE_FRAMES) {
      const frames = Math.min(CHUNK_BASE_FRAMES, inputFrames - done);
      const first = runners.length === 0 ? output : runners[0]!.input;
      const start = runners.length === 0 ? outputOffset + done : runners[0]!.inputStart;
      for (let i = 0; i < frames; i++) {
        const value = input[inputOffset + done + i]!;
        first[start + i] = Math.abs(value) < SMALLEST_STATE ? 0 : value;
      }
      for (let i = 0; i < runners.length; i++) {
        const next = i + 1 < runners.length ? runners[i + 1]! : undefined;
        if (next === undefined) runners[i]!.run(frames << i, output, outputOffset + done * this.factor);
        else runners[i]!.run(frames << i, next.input, next.inputStart);
      }
    }
  }
}
