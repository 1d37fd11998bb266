// From the internal rate back to the base rate, one channel, with the delay that makes the latency whole.
import { AllPassDecimator } from './all-pass-half-band.ts';
import { FirDecimator } from './fir-half-band.ts';
import type { LadderDesign } from './ladder-design.ts';
import { bytesOf, ladderMemory } from './ladder-memory.ts';
import type { DelayLine, LadderHome, LadderWork } from './ladder-work.ts';
import { CHUNK_BASE_FRAMES } from './stage-runner.ts';
import type { StageRunner } from './stage-runner.ts';

/** Runs the stages of a design downwards, after `padFrames` of delay. Any number of frames a call; the output does not depend on how they are cut. */
export class Downsampler {
  private readonly factor: number;
  private readonly work: LadderWork;
  /** From the internal rate downwards. */
  private readonly runners: StageRunner[];
  private readonly fraction: DelayLine | undefined;

  /** With a `home`, `process` takes arrays of that home's memory alone. */
  constructor(design: LadderDesign, home: LadderHome | null = null) {
    const memory = ladderMemory(home);
    const { wholeFrames, fraction } = padOf(design);
    this.factor = design.factor;
    this.work = memory.work;
    if (fraction > 0) this.fraction = delayLine(fraction, memory.floats(3));
    this.runners = design.stages.map((stage, i) => {
      const maxFrames = CHUNK_BASE_FRAMES << i;
      const delayFrames = i === design.stages.length - 1 ? wholeFrames : 0;
      return stage.kind === 'linear-phase'
        ? new FirDecimator(stage.sideTaps, maxFrames, delayFrames, memory)
        : new AllPassDecimator(stage.firstPath, stage.secondPath, maxFrames, delayFrames, memory);
    }).reverse();
  }

  /** Room in a home's arena. */
  static bytes(design: LadderDesign): number {
    const { wholeFrames } = padOf(design);
    return bytesOf(1, 3) + design.stages.reduce((sum, stage, i) => {
      const maxFrames = CHUNK_BASE_FRAMES << i;
      const delayFrames = i === design.stages.length - 1 ? wholeFrames : 0;
      return sum + (stage.kind === 'linear-phase'
        ? FirDecimator.bytes(stage.sideTaps, maxFrames, delayFrames)
        : AllPassDecimator.bytes(stage.firstPath, stage.secondPath, maxFrames, delayFrames));
    }, 0);
  }

  /** Silence before frame 0, as after construction. */
  reset(): void {
    for (const runner of this.runners) runner.reset();
    this.fraction?.fill(0, 1);
  }

  /**
   * Reads `outputFrames × factor` values from `input[inputOffset …]`, writes `outputFrames` to `output[outputOffset …]`. The
   * arrays must not overlap. Audio thread: allocates nothing. Values below 1e-30 are written as 0.
   */
  process(input: Float64Array, inputOffset: number, outputFrames: number, output: Float64Array, outputOffset: number): void {
    const { runners, work, fraction } = this;
    const count = runners.length;
    for (let done = 0; done < outputFrames; done += CHUNK_BASE_FRAMES) {
      const frames = Math.min(CHUNK_BASE_FRAMES, outputFrames - done);
      const first = count === 0 ? output : runners[0]!.input;
      const start = count === 0 ? outputOffset + done : runners[0]!.inputStart;
      work.takeIn(input, inputOffset + done * this.factor, first, start, frames * this.factor);
      if (fraction !== undefined) work.delay(fraction, first, start, frames * this.factor);
      for (let i = 0; i < count; i++) {
        const next = i + 1 < count ? runners[i + 1]! : undefined;
        const lowerFrames = frames << (count - 1 - i);
        if (next === undefined) runners[i]!.run(lowerFrames, output, outputOffset + done);
        else runners[i]!.run(lowerFrames, next.input, next.inputStart);
      }
    }
  }
}

/** Whole frames are a delay line; a rest between ½ and 1½ frames is a first-order all-pass. */
function padOf({ padFrames }: LadderDesign): { readonly wholeFrames: number; readonly fraction: number } {
  if (Number.isInteger(padFrames)) return { wholeFrames: padFrames, fraction: 0 };
  const wholeFrames = Math.floor(padFrames - 0.5);
  return { wholeFrames, fraction: padFrames - wholeFrames };
}

/** (a + z⁻¹)/(1 + a z⁻¹), a = (1 − d)/(1 + d): a delay of d frames at low frequency, flat in level. Source: J.-P. Thiran 1971, first order. */
function delayLine(delayFrames: number, line: DelayLine): DelayLine {
  line[0] = (1 - delayFrames) / (1 + delayFrames);
  return line;
}
