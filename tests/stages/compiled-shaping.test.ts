/** The compiled shaping stage against the readable one: the same bits, the same counts. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { SeededRandom } from '../../dsp/math/index.ts';
import { createStageRunner, defaultValues, stageById } from '../../dsp/stages/index.ts';
import type { StageProgram, StageRunner, StageValues } from '../../dsp/stages/index.ts';
import { HarmonicShapingRunner } from '../../dsp/stages/harmonic-shaping/index.ts';
import { codeMemory, compiled, firstDifference } from '../support/compiled-code.ts';
import { rateHz } from './support/tone.ts';

const stage = stageById('harmonic-shaping');
const off = { secondSign: 'off', thirdSign: 'off' };
const loud = { secondDb: -40, thirdDb: -40, ceilingDbu: 8 };
const laws: readonly StageValues[] = ['polynomial', 'held'].flatMap((law) => [{ law }, { law, ...loud }, { law, ...off, makeUpDb: -7 }]);
const longest = 1200;

function programOf(given: StageValues): StageProgram {
  return stage.program({ ...defaultValues(stage), ...given }, { rateHz, source: null });
}

/** A runner in a memory, given just the room it asks for, and block arrays there. */
function inCode(program: StageProgram, channels: number): { readonly runner: StageRunner; readonly blocks: Float64Array[]; readonly length: () => number } {
  if (program.kind !== 'polynomial') throw new Error('expected a shaping program');
  const memory = codeMemory(1 << 17);
  const blocks = Array.from({ length: channels }, () => memory.arena.floats(longest));
  const arena = memory.arena.part(HarmonicShapingRunner.bytes(program, channels));
  const runner = compiled(() => createStageRunner(program, channels, 'listening', { memory, arena }));
  return { runner, blocks, length: () => memory.arena.buffer.byteLength };
}

/** A tone far below and above the ceiling, noise, silence, and now and then a number that is none. */
function piece(random: SeededRandom, frames: number): Float64Array {
  const level = 10 ** (4 * random.nextUnit() - 2);
  const kind = random.nextUnit();
  return Float64Array.from({ length: frames }, (_, n) => {
    if (kind < 0.2) return n % 2 === 0 ? 0 : -0;
    if (kind > 0.85 && random.nextUnit() < 0.01) return [NaN, Infinity, -Infinity, 1e200, -1e300, 1e-310][Math.floor(6 * random.nextUnit())]!;
    return level * (Math.sin(n / 70) + 0.1 * random.nextGaussian());
  });
}

describe.each(laws.map((given) => ({ name: JSON.stringify(given), given })))('$name', ({ given }) => {
  it.each([1, 2])('gives the same bits compiled, %i channels, blocks of any size', (channels) => {
    const program = programOf(given);
    const sizes = fc.array(fc.oneof(fc.integer({ min: 1, max: 9 }), fc.integer({ min: 1, max: longest })), { minLength: 3, maxLength: 20 });
    fc.assert(fc.property(sizes, fc.integer({ min: 1, max: 1e6 }), (lengths, seed) => {
      const random = new SeededRandom(seed);
      const readable = createStageRunner(program, channels);
      const { runner, blocks, length } = inCode(program, channels);
      const bytes = length();
      for (const [turn, frames] of lengths.entries()) {
        if (turn === 5) for (const each of [readable, runner]) each.reset();
        const inputs = blocks.map(() => piece(random, frames));
        inputs.forEach((input, channel) => blocks[channel]!.set(input, longest - frames));
        readable.process(inputs, 0, frames);
        runner.process(blocks, longest - frames, frames);
        inputs.forEach((expected, channel) => {
          const at = firstDifference(blocks[channel]!.subarray(longest - frames), expected);
          if (at >= 0) throw new Error(`block ${turn}, channel ${channel}, frame ${at}: ${blocks[channel]![longest - frames + at]}, expected ${expected[at]}`);
        });
      }
      expect(runner.counters).toEqual(readable.counters);
      expect(length()).toBe(bytes);
    }), { seed: 20261125, numRuns: 25 });
  });
});

describe('the compiled shaping stage', () => {
  it('takes over the memory of a readable one, runs arrays from elsewhere, and hands its memory back', () => {
    const [program, next] = [programOf({ law: 'held', ...loud }), programOf({ law: 'polynomial', ...loud })];
    const random = new SeededRandom(3);
    const [first, second, third] = [0, 1, 2].map(() => Float64Array.from({ length: 500 }, () => random.nextGaussian()));
    const readable = createStageRunner(program, 1);
    const expected = [first!, second!, third!].map((input) => Float64Array.from(input));
    readable.process([expected[0]!], 0, 500);
    const after = createStageRunner(next, 1);
    after.adopt(readable, 'settled');
    const { runner, blocks } = inCode(next, 1);
    runner.adopt(readable, 'settled');
    after.process([expected[1]!], 0, 500);
    blocks[0]!.set(second!);
    runner.process(blocks, 0, 500);
    expect(firstDifference(blocks[0]!.subarray(0, 500), expected[1]!)).toBe(-1);
    after.process([expected[2]!], 0, 500);
    runner.process([third!], 0, 500);
    expect(firstDifference(third!, expected[2]!)).toBe(-1);
    expect(runner.counters).toEqual(after.counters);
  });

  it('says that its arena has no room', () => {
    const program = programOf({});
    const memory = codeMemory(1 << 16);
    expect(() => createStageRunner(program, 2, 'listening', { memory, arena: memory.arena.part(400) })).toThrow(RangeError);
  });
});
