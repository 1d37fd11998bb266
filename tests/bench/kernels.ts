/** What the speed measurement runs, in Node and in Chromium alike. */
import { CircuitRunner } from '../../dsp/circuit/index.ts';
import type { CircuitProgram } from '../../dsp/circuit/index.ts';
import { SeededRandom, sin } from '../../dsp/math/index.ts';
import { PathRunner, planPath } from '../../dsp/path/index.ts';
import { openingSetting } from '../../dsp/setting/index.ts';
import { createStageRunner, dbuToPeakVolts, defaultValues, stages } from '../../dsp/stages/index.ts';
import type { StageProgram } from '../../dsp/stages/index.ts';

const baseRateHz = 48_000;
const factor = 8;
const blockFrames = 128;
/** Internal samples a round and kernel: a quarter of a second. */
const roundSamples = 96_000;

export interface StageTiming {
  readonly stage: string;
  /** Per internal sample and channel. */
  readonly nanoseconds: number;
  /** Of one channel alone at 48 kHz × 8. */
  readonly realTime: number;
}

/** 1 kHz at +4 dBu with a little seeded noise, so that no sample repeats. */
function drive(): Float64Array {
  const random = new SeededRandom(20261125);
  const peakVolts = dbuToPeakVolts(4);
  return Float64Array.from({ length: roundSamples }, (_, n) => peakVolts * (sin((2 * Math.PI * 1000 * n) / (baseRateHz * factor)) + 1e-3 * random.nextGaussian()));
}

export const driveVolts = drive();

/** One program of every stage at its default values. */
export function stagePrograms(): { readonly stage: string; readonly program: StageProgram }[] {
  return stages.map((stage) => ({ stage: stage.id, program: stage.program(defaultValues(stage), { rateHz: baseRateHz * factor, source: null }) }));
}

/** One round: nanoseconds per internal sample of each stage. `now` gives milliseconds. */
export function timeStages(programs: readonly { readonly stage: string; readonly program: StageProgram }[], now: () => number): number[] {
  return programs.map(({ program }) => {
    const runner = createStageRunner(program, 1);
    const buffer = driveVolts.slice();
    const start = now();
    for (let at = 0; at < roundSamples; at += blockFrames * factor) runner.process([buffer], at, Math.min(blockFrames * factor, roundSamples - at));
    return (1e6 * (now() - start)) / roundSamples;
  });
}

/** One round of a circuit without its stage. */
export function timeCircuit(program: CircuitProgram, now: () => number): number {
  const runner = new CircuitRunner(program, 1);
  const buffer = driveVolts.slice();
  const start = now();
  for (let at = 0; at < roundSamples; at += 1024) runner.process([buffer], at, Math.min(1024, roundSamples - at));
  return (1e6 * (now() - start)) / roundSamples;
}

/** The opening path with the ladder, in times real time. */
export function timeOpeningPath(channels: number, now: () => number): number {
  const plan = planPath(openingSetting().path, baseRateHz);
  const runner = new PathRunner(plan, channels, blockFrames);
  const frames = baseRateHz / 4;
  const inputs = Array.from({ length: channels }, () => Float64Array.from({ length: frames }, (_, n) => 0.1 * sin((2 * Math.PI * 1000 * n) / baseRateHz)));
  const outputs = inputs.map(() => new Float64Array(blockFrames));
  const start = now();
  for (let at = 0; at + blockFrames <= frames; at += blockFrames) {
    runner.process(inputs.map((input) => input.subarray(at, at + blockFrames)), outputs, blockFrames);
  }
  return 250 / (now() - start);
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)]!;
}

/** All of it, in rounds; the first is warm-up and is dropped. */
export function timeEverything(rounds: number, now: () => number) {
  const programs = stagePrograms();
  const byStage: number[][] = programs.map(() => []);
  const mono: number[] = [];
  const stereo: number[] = [];
  for (let round = -1; round < rounds; round += 1) {
    const times = timeStages(programs, now);
    const paths = [timeOpeningPath(1, now), timeOpeningPath(2, now)] as const;
    if (round < 0) continue;
    times.forEach((time, index) => byStage[index]!.push(time));
    mono.push(paths[0]);
    stereo.push(paths[1]);
  }
  const timings: StageTiming[] = programs.map(({ stage }, index) => {
    const nanoseconds = median(byStage[index]!);
    return { stage, nanoseconds, realTime: 1e9 / (nanoseconds * baseRateHz * factor) };
  });
  return { stages: timings, openingPath: { monoRealTime: median(mono), stereoRealTime: median(stereo) } };
}
