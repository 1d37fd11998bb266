/** The compiled equaliser against the readable one: the same bits, the same counts. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { SeededRandom } from '../../dsp/math/index.ts';
import { createStageRunner, defaultValues, stageById, stageRunnerBytes } from '../../dsp/stages/index.ts';
import type { StageProgram, StageRunner, StageValues } from '../../dsp/stages/index.ts';
import { codeMemory, compiled, firstDifference } from '../support/compiled-code.ts';

const stage = stageById('equaliser');
const allOff: StageValues = Object.fromEntries([1, 2, 3, 4, 5, 6].map((n) => [`section${n}Kind`, 'off']));
const full: StageValues = {
  section1Kind: 'bell', section1Hz: 20, section1Db: 18, section1Quality: 30, section2Kind: 'low-shelf', section2Db: -7, section3Kind: 'bell', section3Db: 9, section4Kind: 'high-shelf', section4Order: 'first',
  section4Db: 5, section5Kind: 'bell', section5Hz: 20e3, section5Db: -18, section6Kind: 'low-shelf', section6Order: 'second-apart', section6Db: 3, makeUpDb: -4,
};
const cases = [{ given: allOff, rateHz: 384_000 }, { given: {}, rateHz: 384_000 }, { given: full, rateHz: 384_000 }, { given: full, rateHz: 44_100 }];
const longest = 1200;

const programOf = (given: StageValues, rateHz: number): StageProgram => stage.program({ ...defaultValues(stage), ...given }, { rateHz, source: null });

/** A runner in a memory, given just the room it asks for, and block arrays there. */
function inCode(program: StageProgram, channels: number): { readonly runner: StageRunner; readonly blocks: Float64Array[]; readonly length: () => number } {
  const memory = codeMemory(1 << 17);
  const blocks = Array.from({ length: channels }, () => memory.arena.floats(longest));
  const arena = memory.arena.part(stageRunnerBytes(program, channels));
  const runner = compiled(() => createStageRunner(program, channels, 'listening', { memory, arena }));
  return { runner, blocks, length: () => memory.arena.buffer.byteLength };
}

/** Noise of any level, silence of either sign, and now and then a number that is none or beyond any circuit. */
function piece(random: SeededRandom, frames: number): Float64Array {
  const level = 10 ** (4 * random.nextUnit() - 2);
  const kind = random.nextUnit();
  return Float64Array.from({ length: frames }, (_, n) => {
    if (kind < 0.2) return n % 2 === 0 ? 0 : -0;
    if (kind > 0.8 && random.nextUnit() < 0.01) return [NaN, Infinity, -Infinity, 1e200, -1e300, 1e-310, 1e15, -1.001e15][Math.floor(8 * random.nextUnit())]!;
    return level * (Math.sin(n / 70) + 0.1 * random.nextGaussian());
  });
}

describe.each(cases.map(({ given, rateHz }, k) => ({ name: `case ${k + 1} at ${rateHz} Hz`, given, rateHz })))('$name', ({ given, rateHz }) => {
  it.each([1, 2])('gives the same bits compiled, %i channels, blocks of any size', (channels) => {
    const program = programOf(given, rateHz);
    const sizes = fc.array(fc.oneof(fc.integer({ min: 0, max: 9 }), fc.integer({ min: 1, max: longest })), { minLength: 3, maxLength: 20 });
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

describe('the compiled equaliser', () => {
  it('takes over the memory of a readable one and hands its own on', () => {
    const [program, next] = [programOf(full, 48_000), programOf({ ...full, section2Kind: 'off' }, 48_000)];
    const random = new SeededRandom(3);
    const [first, second] = [0, 1].map(() => Float64Array.from({ length: 500 }, () => random.nextGaussian()));
    const readable = createStageRunner(program, 1);
    readable.process([Float64Array.from(first!)], 0, 500);
    const after = createStageRunner(next, 1);
    after.adopt(readable, 'settled');
    const { runner, blocks } = inCode(next, 1);
    runner.adopt(readable, 'settled');
    const expected = Float64Array.from(second!);
    after.process([expected], 0, 500);
    blocks[0]!.set(second!);
    runner.process(blocks, 0, 500);
    expect(firstDifference(blocks[0]!.subarray(0, 500), expected)).toBe(-1);
    const last = createStageRunner(next, 1);
    last.adopt(runner, 'settled');
    const [one, other] = [Float64Array.from(first!), Float64Array.from(first!)];
    last.process([one], 0, 500);
    after.process([other], 0, 500);
    expect(firstDifference(one, other)).toBe(-1);
  });

  it('asks for room for every section, so that switching one on fits where the others ran', () => {
    const bytes = (given: StageValues): number => stageRunnerBytes(programOf(given, 384_000), 2, 'dearest rule');
    expect(new Set([allOff, {}, full].map(bytes)).size).toBe(1);
    expect(stageRunnerBytes(programOf(full, 384_000), 2)).toBe(bytes(full));
  });
});
