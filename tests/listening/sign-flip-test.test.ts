import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { leastSignFlipP, signFlipTest, signTestPower } from '../../dsp/listening/index.ts';

/** By writing down all arrangements. */
function byEnumeration(differences: readonly number[]): number {
  const found = Math.abs(differences.reduce((sum, difference) => sum + difference, 0));
  let asFar = 0;
  for (let arrangement = 0; arrangement < 2 ** differences.length; arrangement += 1) {
    const sum = differences.reduce((total, difference, k) => total + ((arrangement >> k) & 1 ? -difference : difference), 0);
    if (Math.abs(sum) >= found) asFar += 1;
  }
  return asFar / 2 ** differences.length;
}

describe('the sign-flip test', () => {
  // R. A. Fisher, The design of experiments, 1935, section 21: crossed against self-fertilised maize of C. Darwin, heights in eighths of an inch. Of 32,768 arrangements 863 have a sum of 314 or more.
  it('of fifteen pairs of maize: 2 · 863 / 32768', () => {
    const { pairs, sum, p } = signFlipTest([49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48]);
    expect([pairs, sum]).toEqual([15, 314]);
    expect(p).toBe((2 * 863) / 32768);
  });

  it('of few pairs, written down by hand', () => {
    // +3 +1: sums 4, 2, −2, −4; two of four are as far as 4.
    expect(signFlipTest([3, 1]).p).toBe(0.5);
    // +2 +1 −1: sums of ±2 ±1 ±1 are ±4, ±2 twice, 0 twice; found 2: all but the two zeros.
    expect(signFlipTest([2, 1, -1]).p).toBe(0.75);
    // A pair without difference doubles every arrangement alike.
    expect(signFlipTest([2, 0, 1, -1]).p).toBe(0.75);
    expect(signFlipTest([1, -1]).p).toBe(1);
    expect(signFlipTest([0, 0, 0])).toEqual({ pairs: 3, sum: 0, p: 1 });
    expect(signFlipTest([])).toEqual({ pairs: 0, sum: 0, p: 1 });
  });

  it('as all arrangements written down, whichever side is called the first', () => {
    fc.assert(fc.property(fc.array(fc.integer({ min: -6, max: 6 }), { maxLength: 12 }), (differences) => {
      const { p } = signFlipTest(differences);
      expect(p).toBe(byEnumeration(differences));
      expect(signFlipTest(differences.map((difference) => -difference)).p).toBe(p);
    }), { seed: 20261126, numRuns: 200 });
  });

  it('gives no less than 2 / 2^n, reached where all point the same way', () => {
    for (const pairs of [1, 2, 5, 6, 20]) {
      expect(leastSignFlipP(pairs)).toBe(2 / 2 ** pairs);
      expect(signFlipTest(new Array<number>(pairs).fill(-2)).p).toBe(2 / 2 ** pairs);
    }
  });

  it('counts many pairs: 400 ones against none by the binomial law', () => {
    const differences = Array.from({ length: 400 }, (_, k) => (k < 220 ? 1 : -1));
    // 2 Σ C(400, k) / 2^400 from k = 220, reckoned in whole numbers.
    expect(Math.abs(signFlipTest(differences).p - 0.05104022312914799)).toBeLessThan(1e-12);
  });

  it('refuses what is no rating', () => {
    expect(() => signFlipTest([1, 0.5])).toThrow('differences: expected whole numbers, got 0.5');
    expect(() => signFlipTest([1, NaN])).toThrow('differences: expected whole numbers, got NaN');
    expect(() => signFlipTest([2_000_000])).toThrow('differences: expected a sum of sizes of at most 1000000, got 2000000');
    expect(() => signFlipTest(new Array<number>(1001).fill(1))).toThrow('pairs: expected at most 1000, got 1001');
  });
});

describe('the power of a two-sided sign test', () => {
  it('of 6 trials at 5 %: all on one side, so 0.8^6 + 0.2^6; of 5: never', () => {
    expect(Math.abs(signTestPower(6, 0.05, 0.8) - (0.8 ** 6 + 0.2 ** 6))).toBeLessThan(1e-14);
    expect(signTestPower(5, 0.05, 0.99)).toBe(0);
  });
});
