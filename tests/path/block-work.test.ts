/** The compiled block work of a path against the readable one: the same bits. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { SeededRandom } from '../../dsp/math/index.ts';
import { blockLoops } from '../../dsp/path/block-loops.ts';
import { mixSize } from '../../dsp/path/block-work.ts';
import type { BlockWork } from '../../dsp/path/block-work.ts';
import { compiledBlocks } from '../../dsp/path/emit/compiled-blocks.ts';
import { fadeWeights } from '../../dsp/path/fade.ts';
import { codeMemory, compiled, firstDifference } from '../support/compiled-code.ts';

const longest = 300;
const steps = 120;
const memory = codeMemory(1 << 16);
const code = compiled(() => compiledBlocks(memory))!;
const floats = (length: number): Float64Array => memory.arena.floats(length);
const arrays = { a: floats(longest + 2), b: floats(longest + 2), weights: fadeWeights(steps, floats(steps + 1)), ratio: floats(1), numbers: floats(mixSize) };
/** A frame in front and behind, which must stay as it is. */
const inner = (array: Float64Array): Float64Array => array.subarray(1, longest + 1);

function noise(random: SeededRandom, length: number): Float64Array {
  return Float64Array.from({ length }, () => {
    const kind = random.nextUnit();
    return kind < 0.05 ? -0 : kind < 0.1 ? 0 : kind < 0.12 ? NaN : kind < 0.14 ? Infinity : random.nextGaussian() * 10 ** (20 * random.nextUnit() - 10);
  });
}

/** Runs one piece of work in code and in loops on the same noise. */
function same(seed: number, work: (back: BlockWork, a: Float64Array, b: Float64Array, own: { weights: Float64Array; ratio: Float64Array; numbers: Float64Array }) => void): void {
  const random = new SeededRandom(seed);
  const [a, b, ratio, numbers] = [noise(random, longest), noise(random, longest), random.nextGaussian(), Float64Array.from({ length: mixSize }, () => random.nextGaussian())];
  for (const array of [arrays.a, arrays.b]) array.fill(77);
  inner(arrays.a).set(a);
  inner(arrays.b).set(b);
  arrays.ratio[0] = ratio;
  arrays.numbers.set(numbers);
  work(blockLoops, a, b, { weights: arrays.weights, ratio: Float64Array.of(ratio), numbers });
  work(code, inner(arrays.a), inner(arrays.b), arrays);
  expect([firstDifference(inner(arrays.a), a), firstDifference(inner(arrays.b), b)]).toEqual([-1, -1]);
  expect([arrays.a[0], arrays.a[longest + 1], arrays.b[0], arrays.b[longest + 1]]).toEqual([77, 77, 77, 77]);
}

const frames = fc.integer({ min: 0, max: longest });
const seed = fc.integer({ min: 1, max: 1e6 });
const place = fc.integer({ min: -steps, max: 2 * steps });
const step = fc.constantFrom(-1, 0, 1);
const settings = { seed: 20261125, numRuns: 150 };

describe('compiled block work', () => {
  it('copies, negates, multiplies and divides', () => {
    fc.assert(fc.property(seed, frames, (key, count) => {
      same(key, (back, a, b) => back.copy(a, b, count));
      same(key, (back, a, b) => back.negate(a, b, count));
      same(key, (back, a) => back.negate(a, a, count));
      same(key, (back, a, b, { ratio }) => back.multiply(a, b, count, ratio));
      same(key, (back, a, _b, { ratio }) => back.divide(a, a, count, ratio));
    }), settings);
  });

  it('fades, at any place, either way, and past both ends', () => {
    fc.assert(fc.property(seed, frames, place, step, (key, count, at, by) => {
      same(key, (back, a, b, { weights }) => back.crossfade(a, b, count, weights, at, by));
    }), settings);
  });

  it('mixes wet and dry while the switch and the gains move', () => {
    fc.assert(fc.property(seed, frames, place, step, fc.integer({ min: 0, max: steps }), fc.boolean(), (key, count, at, by, gainAt, wholePath) => {
      same(key, (back, a, b, { weights, numbers }) => back.mix(a, b, count, weights, at, by, gainAt, numbers, wholePath));
    }), settings);
  });
});
