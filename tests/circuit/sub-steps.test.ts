// What stands round the instances: sub-inputs, combination, input check and gains; as loops, and as compiled code with the same bits.
import { describe, expect, it } from 'vitest';
import { blockLoops, compiledBlocks } from '../../dsp/circuit/index.ts';
import type { BlockWork } from '../../dsp/circuit/index.ts';
import { SeededRandom } from '../../dsp/math/index.ts';
import { codeMemory, compiled, firstDifference } from '../support/compiled-code.ts';
import { expectWithin } from './support.ts';

const memory = codeMemory(262_144);
const compiledBack = compiled(() => compiledBlocks(memory));
if (compiledBack === null) throw new Error('expected compiled blocks, got none');
const backs: readonly (readonly [string, BlockWork])[] = [['loops', blockLoops], ['compiled', compiledBack]];
const floats = (values: ArrayLike<number>): Float64Array => {
  const array = memory.arena.floats(values.length);
  array.set(values);
  return array;
};

/** Ordinary, huge, tiny and impossible numbers. */
function wild(length: number, seed: number): Float64Array {
  const random = new SeededRandom(seed);
  const odd = [0, -0, NaN, Infinity, -Infinity, 1e100, -1.0000001e100, 5e-324, -1e-310, 1e300];
  return Float64Array.from({ length }, () => (random.nextUnit() < 0.2 ? odd[Math.floor(random.nextUnit() * odd.length)]! : 20 * random.nextUnit() - 10));
}

describe.each(backs)('%s', (_, work) => {
  it.each([2, 4] as const)('%d sub-inputs lie on any cubic', (subSteps) => {
    // u(n) = 3 − 2 n + 0.5 n² − 0.125 n³ at n − 1 + k/R, its own value; every product is exact, 1e-9 V is for sums of some thousand volts.
    const cubic = (n: number): number => 3 - 2 * n + 0.5 * n * n - 0.125 * n * n * n;
    const frames = 20;
    const to = floats(new Float64Array(frames * subSteps));
    const from = floats(Float64Array.from({ length: frames + 5 }, (_entry, n) => cubic(n - 5)));
    work.subInputs(from, 5, frames, subSteps, floats([cubic(-1), cubic(-2), cubic(-3)]), to);
    to.forEach((volts, at) => expectWithin(volts, cubic((at + 1) / subSteps - 1), 1e-9, `sub-input ${at}`));
  });

  it('gives the sample itself last, whatever was before', () => {
    const from = floats([7, -3, 11]);
    const to = floats(new Float64Array(12));
    work.subInputs(from, 0, 3, 4, floats([1e5, -1e5, 1e5]), to);
    expect([to[3], to[7], to[11]]).toEqual([7, -3, 11]);
  });

  it('combines the last outputs of each sample so that an error in h² cancels', () => {
    // Coarse 5 + 4e, fine 5 + e at each sample's last step; anything before it.
    const coarse = floats([99, 5 + 0.4, 99, 6 + 0.4]);
    const fine = floats([9, 9, 9, 5 + 0.1, 9, 9, 9, 6 + 0.1]);
    const to = floats([1, 1, 1]);
    work.combine(coarse, 2, fine, 4, 2, to, 1);
    expect(to[0]).toBe(1);
    expectWithin(to[1]!, 5, 1e-14);
    expectWithin(to[2]!, 6, 1e-14);
  });

  it('refuses what is not a voltage, counts it, and scales the rest', () => {
    const samples = floats([2, NaN, -3, Infinity, -Infinity, 6e99, -4]);
    expect(work.scaleInput(samples, 1, 6, 2)).toBe(4);
    expect(Array.from(samples)).toEqual([2, NaN, -6, Infinity, -Infinity, 1.2e100, -8]);
    expect(work.cleanInput(samples, 1, 6, 1)).toBe(4);
    expect(Array.from(samples)).toEqual([2, 0, -6, 0, 0, 0, -8]);
    expect(work.cleanInput(samples, 0, 7, 1)).toBe(0);
  });

  it('takes the rest voltage off, scales, and finds the peak', () => {
    const samples = floats([100, 5, 4, 6.5, 100]);
    expect(work.finishOutput(samples, 1, 3, 5, -2, 0.5)).toBe(3);
    expect(Array.from(samples)).toEqual([100, 0, 2, -3, 100]);
    expect(Object.is(samples[1], 0)).toBe(true);
    expect(work.finishOutput(floats([NaN, 5.25]), 0, 2, 5, 1, 0.125)).toBe(0.25);
    expect(work.finishOutput(floats([5]), 0, 1, 5, 1, 7)).toBe(7);
  });
});

it.each([0, 1, 2, 3, 17, 128])('gives the same bits compiled, %d frames', (frames) => {
  for (let seed = 1; seed <= 20; seed += 1) {
    const values = wild(frames + 3, seed);
    const history = floats(wild(3, seed + 100));
    const [coarse, fine] = [floats(wild(2 * frames, seed + 200)), floats(wild(4 * frames, seed + 300))];
    const results = backs.map(([, work]) => {
      const outcome: number[] = [];
      for (const subSteps of [2, 4] as const) {
        const to = floats(new Float64Array(subSteps * frames));
        work.subInputs(floats(values), 3, frames, subSteps, history, to);
        outcome.push(...to);
      }
      for (const [coarseSteps, fineSteps] of [[1, 2], [2, 4]] as const) {
        const to = floats(values);
        work.combine(coarse, coarseSteps, fine, fineSteps, frames, to, 1);
        outcome.push(...to);
      }
      const samples = floats(values);
      outcome.push(work.scaleInput(samples, 1, frames, -0.37), ...samples, work.cleanInput(samples, 1, frames, -0.37), ...samples);
      outcome.push(work.finishOutput(samples, 1, frames, 0.3, 1e98, 0.1), ...samples);
      outcome.push(work.finishOutput(floats(values), 1, frames, 0.3, 0.7, 0), 0);
      return Float64Array.from(outcome);
    });
    expect(firstDifference(results[1]!, results[0]!), `seed ${seed}`).toBe(-1);
    memory.arena.clear();
  }
});
