// From the base rate to the internal rate, one channel.
import { AllPassInterpolator } from './all-pass-half-band.ts';
import { FirInterpolator } from './fir-half-band.ts';
import type { LadderDesign } from './ladder-design.ts';
import { ladderMemory } from './ladder-memory.ts';
import type { LadderHome, LadderWork } from './ladder-work.ts';
import { CHUNK_BASE_FRAMES } from './stage-runner.ts';
import type { StageRunner } from './stage-runner.ts';

/** Runs the stages of a design upwards. Any number of frames a call; the output does not depend on how they are cut. */
export class Upsampler {
  private readonly factor: number;
  private readonly work: LadderWork;
  private readonly runners: StageRunner[];

  /** With a `home`, `process` takes arrays of that home's memory alone. */
  constructor(design: LadderDesign, home: LadderHome | null = null) {
    const memory = ladderMemory(home);
    this.factor = design.factor;
    this.work = memory.work;
    this.runners = design.stages.map((stage, i) => {
      const maxFrames = CHUNK_BASE_FRAMES << i;
      return stage.kind === 'linear-phase'
        ? new FirInterpolator(stage.sideTaps, maxFrames, memory)
        : new AllPassInterpolator(stage.firstPath, stage.secondPath, maxFrames, memory);
    });
  }

  /** Room in a home's arena. */
  static bytes(design: LadderDesign): number {
    return design.stages.reduce((sum, stage, i) => {
      const maxFrames = CHUNK_BASE_FRAMES << i;
      return sum + (stage.kind === 'linear-phase'
        ? FirInterpolator.bytes(stage.sideTaps, maxFrames)
        : AllPassInterpolator.bytes(stage.firstPath, stage.secondPath, maxFrames));
    }, 0);
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
    const { runners, work } = this;
    for (let done = 0; done < inputFrames; done += CHUNK_BASE_FRAMES) {
      const frames = Math.min(CHUNK_BASE_FRAMES, inputFrames - done);
      if (runners.length === 0) work.takeIn(input, inputOffset + done, output, outputOffset + done, frames);
      else work.takeIn(input, inputOffset + done, runners[0]!.input, runners[0]!.inputStart, frames);
      for (let i = 0; i < runners.length; i++) {
        const next = i + 1 < runners.length ? runners[i + 1]! : undefined;
        if (next === undefined) runners[i]!.run(frames << i, output, outputOffset + done * this.factor);
        else runners[i]!.run(frames << i, next.input, next.inputStart);
      }
    }
  }
}
