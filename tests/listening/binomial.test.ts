import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { blindResult, chanceOfAtLeast, chanceOfAtMost, hitRateInterval, hitsNeeded, powerOf, twoSidedChance } from '../../dsp/listening/index.ts';
import { check, checksOf, expectWithin, numberInput } from '../reference/checks.ts';

describe('the chance of hits by guessing', () => {
  const rows = checksOf('ABX-').filter(({ id }) => /^ABX-\d+-\d+$/.test(id));

  it.each(rows.map((entry) => [entry.id, entry] as const))('%s', (_, entry) => {
    const [k, n] = [numberInput(entry, 'k'), numberInput(entry, 'n')];
    const chance = chanceOfAtLeast(k, n, 0.5);
    const expected = entry.expected;
    if (typeof expected === 'number') expectWithin(entry, chance);
    // The numerator over 2^n, exact integers.
    else expectWithin(entry, [chance, chance * 2 ** n]);
  });

  it.each(checksOf('ABX-CRIT-').map((entry) => [entry.id, entry] as const))('%s', (_, entry) => {
    const n = numberInput(entry, 'n');
    expectWithin(entry, [hitsNeeded(n, 0.05)!, hitsNeeded(n, 0.01)!]);
  });

  it('has no number of hits where even all are likelier', () => {
    expect(hitsNeeded(4, 0.05)).toBeNull();
    expect(hitsNeeded(5, 0.05)).toBe(5);
  });

  it('needs one count for each significance, the least that keeps it', () => {
    for (let trials = 0; trials <= 120; trials += 1) {
      for (const significance of [0, 0.001, 0.05, 0.5, 0.9, 1]) {
        let least: number | null = null;
        for (let hits = trials; hits >= 0 && chanceOfAtLeast(hits, trials, 0.5) <= significance; hits -= 1) least = hits;
        expect(hitsNeeded(trials, significance), `${trials} trials at ${significance}`).toBe(least);
      }
    }
  });

  it('answers at once for the most trials there may be, and so does all that is said of a record', () => {
    const trials = 100_000;
    const plan = { task: 'identify', length: { kind: 'fixed', trials, significance: 0.05 }, nullShare: 0, training: 0, seed: 1 } as const;
    const answered = Array.from({ length: trials }, (_, index) => ({ A: 0, B: 1, X: 0, isNull: false, answer: 1, hit: index % 2 === 0 || index < 1000, listens: { A: 1, B: 1, X: 1 }, excerpts: [1] }) as const);
    const began = performance.now();
    // 50 000 + 1.645 · 158.1 and half a count.
    expect(hitsNeeded(trials, 0.05)).toBe(50_261);
    expect(blindResult(plan, { trials: answered, stopped: false, of: trials })).toMatchObject({ hits: 50_500, needed: 50_261 });
    expect(blindResult({ ...plan, task: 'prefer' }, { trials: answered, stopped: false, of: trials })).toMatchObject({ first: trials });
    // 0.5 s on an idle machine; ten times that for a busy one, where the hits needed alone once took minutes.
    expect(performance.now() - began).toBeLessThan(5000);
  }, 20_000);
});

describe('power', () => {
  it.each(checksOf('ABX-POWER-').map((entry) => [entry.id, entry] as const))('%s', (_, entry) => {
    expectWithin(entry, powerOf(numberInput(entry, 'n'), numberInput(entry, 'k'), numberInput(entry, 'theta')));
  });
});

describe('intervals and two-sided chances', () => {
  // Peas in a garden: 682 of 925 at an expected three quarters; figures as in the help page of a statistics package's exact binomial test.
  it('682 of 925 at 0.75', () => {
    expect(Math.abs(twoSidedChance(682, 925, 0.75) - 0.3825)).toBeLessThan(5e-5);
    const { lower, upper } = hitRateInterval(682, 925);
    expect(Math.abs(lower - 0.7076683)).toBeLessThan(5e-8);
    expect(Math.abs(upper - 0.7654066)).toBeLessThan(5e-8);
  });

  it('reach to 0 and 1 where nothing or everything was hit: 1 − (α/2)^(1/n) and its mirror', () => {
    const none = hitRateInterval(0, 10);
    expect(none.lower).toBe(0);
    expect(Math.abs(none.upper - (1 - 0.025 ** 0.1))).toBeLessThan(1e-12);
    const all = hitRateInterval(10, 10);
    expect(all.upper).toBe(1);
    expect(Math.abs(all.lower - 0.025 ** 0.1)).toBeLessThan(1e-12);
  });

  it('are consistent: both tails make one, the interval holds the rate found, its ends have the tail they should', () => {
    fc.assert(fc.property(fc.integer({ min: 1, max: 400 }), fc.double({ min: 0, max: 1, noNaN: true }), fc.double({ min: 0.01, max: 0.99, noNaN: true }), (trials, part, rate) => {
      const hits = Math.round(part * trials);
      const sum = chanceOfAtLeast(hits, trials, rate) + (hits === 0 ? 0 : chanceOfAtMost(hits - 1, trials, rate));
      expect(!(Math.abs(sum - 1) <= 1e-12)).toBe(false);
      const { lower, upper } = hitRateInterval(hits, trials);
      expect(lower <= hits / trials && hits / trials <= upper).toBe(true);
      if (hits > 0) expect(!(Math.abs(chanceOfAtLeast(hits, trials, lower) - 0.025) <= 1e-9)).toBe(false);
    }), { seed: 20261126, numRuns: 60 });
  });

  it('refuse what is no count', () => {
    expect(() => chanceOfAtLeast(11, 10, 0.5)).toThrow('hits: expected a whole number from 0 to 10, got 11');
    expect(() => chanceOfAtLeast(1, 2.5, 0.5)).toThrow('trials: expected a whole number from 0 to 100000, got 2.5');
    expect(() => chanceOfAtLeast(1, 2, NaN)).toThrow('rate: expected a probability from 0 to 1, got NaN');
  });

  it('names the procedure it belongs to', () => {
    expect(check('ABX-BLIND').quantity).toContain('double blind');
  });
});
