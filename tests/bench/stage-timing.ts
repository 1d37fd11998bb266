/** Every stage at its default values in stereo by the rule that plays, and whole paths as they play. */
import { planPath } from '../../dsp/path/index.ts';
import { openingSetting, tenStagePath } from '../../dsp/setting/index.ts';
import type { Setting } from '../../dsp/setting/index.ts';
import { createStageRunner, dbuToPeakVolts, defaultValues, stageRunnerBytes, stages } from '../../dsp/stages/index.ts';
import { createCodeMemory } from '../../dsp/webassembly/index.ts';
import { blockMilliseconds, chainRunner, runBlocks, ToneBlocks } from './chain.ts';
import { baseRateHz, internalRateHz } from './circuits.ts';
import { processorNanoseconds } from './clock.ts';
import { twoChannelTone } from './kernel-timing.ts';
import { median } from './median.ts';

const blockFrames = 1024;

export interface StageTiming {
  readonly stage: string;
  /** Null for a stage that is no circuit. */
  readonly rule: string | null;
  /** Nanoseconds per sample of the internal rate and channel, all steps of the rule in it. */
  readonly nsPerSample: number;
}

/** 1 kHz at +4 dBu. */
export function timeStages(rounds: number): StageTiming[] {
  const input = twoChannelTone(internalRateHz / 8, 1000, dbuToPeakVolts(4));
  const timed = stages.map((stage) => {
    const program = stage.program(defaultValues(stage), { rateHz: internalRateHz, source: null, rule: 'listening' });
    const memory = createCodeMemory(stageRunnerBytes(program, 2) + 32 * blockFrames);
    if (memory === null) throw new Error(`${stage.id}: expected compiled code, got none`);
    const runner = createStageRunner(program, 2, 'listening', { memory, arena: memory.arena });
    return { stage, program, runner, blocks: [memory.arena.floats(blockFrames), memory.arena.floats(blockFrames)], times: [] as number[] };
  });
  const frames = input.length / 2;
  for (let round = -2; round < rounds; round += 1) {
    for (const { runner, blocks, times } of timed) {
      runner.reset();
      const start = processorNanoseconds();
      for (let at = 0; at < frames; at += blockFrames) {
        const now = Math.min(blockFrames, frames - at);
        blocks[0]!.set(input.subarray(at, at + now));
        blocks[1]!.set(input.subarray(frames + at, frames + at + now));
        runner.process(blocks, 0, now);
      }
      if (round >= 0) times.push((processorNanoseconds() - start) / (2 * frames));
    }
  }
  return timed.map(({ stage, program, times }) => ({ stage: stage.id, rule: program.kind === 'circuit' ? program.circuit.rule : null, nsPerSample: median(times) }));
}

/** Times real time, in stereo: the path a newcomer meets, and one of ten stages. */
export function timePaths(rounds: number): { readonly opening: number; readonly tenStages: number } {
  const realTime = ({ path }: Setting): number => median(realTimes(chainRunner(planPath(path, baseRateHz)), rounds));
  return { opening: realTime(openingSetting()), tenStages: realTime(tenStagePath()) };
}

/** Times real time of a stereo path, one figure a round of 0.4 s of sound. */
export function realTimes(runner: ReturnType<typeof chainRunner>, rounds: number): number[] {
  const tone = new ToneBlocks();
  const blocks = 150;
  const figures: number[] = [];
  for (let round = -4; round < rounds; round += 1) {
    const start = processorNanoseconds();
    runBlocks(runner, tone, blocks);
    if (round >= 0) figures.push((1e6 * blocks * blockMilliseconds) / (processorNanoseconds() - start));
  }
  return figures;
}
