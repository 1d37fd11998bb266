/** Every stage in compiled code against its loops, in the room it asks for, under every integration rule. */
import { describe, expect, it } from 'vitest';
import { SeededRandom } from '../../dsp/math/index.ts';
import type { IntegrationRule } from '../../dsp/circuit/index.ts';
import { createStageRunner, defaultValues, stageRunnerBytes, stages } from '../../dsp/stages/index.ts';
import type { StageDefinition, StageProgram, StageRunner } from '../../dsp/stages/index.ts';
import { createCodeMemory } from '../../dsp/webassembly/index.ts';
import { compiled, firstDifference, recordingShell } from '../support/compiled-code.ts';
import { rateHz } from './support/tone.ts';

const rules: readonly IntegrationRule[] = ['T1', 'T12', 'T24'];
const cases = stages.flatMap((stage) => rules.map((rule) => ({ id: stage.id, stage, rule })));
const frames = 900;

const programOf = (stage: StageDefinition, rule: IntegrationRule): StageProgram => stage.program(defaultValues(stage), { rateHz, source: null, rule });

interface InCode {
  readonly runner: StageRunner;
  readonly blocks: readonly Float64Array[];
  readonly leftOver: number;
  readonly instances: number;
}

function inCode(program: StageProgram, channels: number): InCode {
  const record = recordingShell();
  return compiled(() => {
    const memory = createCodeMemory(1 << 18)!;
    const arena = memory.arena.part(stageRunnerBytes(program, channels));
    const runner = createStageRunner(program, channels, 'listening', { memory, arena });
    return { runner, blocks: Array.from({ length: channels }, () => memory.arena.floats(frames)), leftOver: arena.freeBytes, instances: record.instances };
  }, record.shell);
}

/** Tone and noise, then a burst far over any supply, then what is no number. */
function signal(seed: number): Float64Array {
  const random = new SeededRandom(seed);
  const input = Float64Array.from({ length: frames }, (_, n) => 1.7 * Math.sin(n / 50) + 0.1 * random.nextGaussian() + (n > 300 && n < 360 ? 200 * random.nextGaussian() : 0));
  input.set([NaN, Infinity, -Infinity], 500 + 7 * seed);
  return input;
}

describe.each(cases)('$id, $rule', ({ stage, rule }) => {
  const program = programOf(stage, rule);

  it.each([1, 2])('%i channels: the same bits and counts, split anywhere, in just the room it asks for', (channels) => {
    const inputs = Array.from({ length: channels }, (_, channel) => signal(1 + channel));
    const readable = createStageRunner(program, channels);
    const { runner, blocks, leftOver, instances } = inCode(program, channels);
    expect(instances).toBeGreaterThan(0);
    expect(leftOver).toBeLessThan(100);
    inputs.forEach((input, channel) => blocks[channel]!.set(input));
    for (const [from, to] of [[0, 1], [1, 130], [130, 502], [502, 503], [503, frames]] as const) {
      readable.process(inputs, from, to - from);
      runner.process(blocks, from, to - from);
    }
    inputs.forEach((expected, channel) => {
      const at = firstDifference(blocks[channel]!, expected);
      if (at >= 0) throw new Error(`channel ${channel}, frame ${at}: ${blocks[channel]![at]}, expected ${expected[at]}`);
    });
    expect(runner.counters).toEqual(readable.counters);
    expect(runner.counters.nonFinite).toBe(3 * channels);
  });

  it('takes arrays from outside its memory, and memory from a runner in loops', () => {
    const readable = createStageRunner(program, 1);
    readable.process([signal(3)], 0, frames);
    const next = createStageRunner(program, 1);
    const { runner } = inCode(program, 1);
    for (const each of [next, runner]) each.adopt(readable, 'settled');
    const [expected, output] = [signal(4), signal(4)];
    next.process([expected], 0, frames);
    runner.process([output], 0, frames);
    expect(firstDifference(output, expected)).toBe(-1);
  });
});

describe('room for a stage', () => {
  it.each(stages.map((stage) => ({ id: stage.id, stage })))('$id: the dearest rule asks for most', ({ stage }) => {
    const dearest = stageRunnerBytes(programOf(stage, 'T1'), 2, 'dearest rule');
    for (const rule of rules) expect(stageRunnerBytes(programOf(stage, rule), 2)).toBeLessThanOrEqual(dearest);
  });
});
