import { describe, expect, it } from 'vitest';
import { SeededRandom } from '../../dsp/math/index.ts';
import { sequentialCharacteristics, sequentialLines, sequentialVerdict, type SequentialPlan } from '../../dsp/listening/index.ts';

const plan: SequentialPlan = { guessRate: 0.5, heardRate: 0.75, falseAlarm: 0.05, miss: 0.05, mostTrials: 100 };

describe('the lines', () => {
  it('0.5 against 0.75 at 5 % each way: slope ln 2 / ln 3, intercepts ± ln 19 / ln 3', () => {
    const { slope, upperIntercept, lowerIntercept } = sequentialLines(plan);
    expect(Math.abs(slope - 0.6309297535714574)).toBeLessThan(1e-12);
    expect(Math.abs(upperIntercept - 2.680143859246375)).toBeLessThan(1e-12);
    expect(Math.abs(lowerIntercept + 2.680143859246375)).toBeLessThan(1e-12);
  });

  it('decides after eight straight hits, and after five straight misses', () => {
    const straight = (hit: 0 | 1): number => {
      for (let trials = 1; ; trials += 1) if (sequentialVerdict(plan, hit * trials, trials) !== 'go on') return trials;
    };
    expect([straight(1), straight(0)]).toEqual([8, 5]);
    expect(sequentialVerdict(plan, 8, 8)).toBe('heard');
    expect(sequentialVerdict(plan, 0, 5)).toBe('guessed');
  });

  // NIST/SEMATECH e-Handbook of Statistical Methods, 6.2.6: 1 % against 10 % defective at 5 % and 10 %; recomputed: ln 9.5 / ln 11, ln 18 / ln 11, ln 1.1 / ln 11.
  it('gives the sequential plan of the handbook', () => {
    const { slope, upperIntercept, lowerIntercept } = sequentialLines({ guessRate: 0.01, heardRate: 0.1, falseAlarm: 0.05, miss: 0.1 });
    expect(Math.abs(slope - 0.0397474322)).toBeLessThan(1e-8);
    expect(Math.abs(upperIntercept - 1.2053786463)).toBeLessThan(1e-8);
    expect(Math.abs(lowerIntercept + 0.9388616026)).toBeLessThan(1e-8);
  });

  it('refuses what is no test', () => {
    expect(() => sequentialLines({ ...plan, heardRate: 0.5 })).toThrow('rates: expected 0 < guessRate < heardRate < 1, got 0.5 and 0.5');
    expect(() => sequentialLines({ ...plan, miss: 0.96 })).toThrow('errors: expected two positive chances with a sum below 1, got 0.05 and 0.96');
  });
});

describe('what a plan keeps', () => {
  it('errors near those asked for, and fewer trials than a fixed number of the same errors', () => {
    const guessing = sequentialCharacteristics(plan, 0.5);
    const hearing = sequentialCharacteristics(plan, 0.75);
    expect(guessing.heard).toBeLessThan(0.06);
    expect(1 - hearing.heard).toBeLessThan(0.06);
    // A fixed number of the same errors takes 42 trials (27 hits: 4.4 % by guessing, 4.2 % missed); the sequential test about half.
    expect(guessing.meanTrials).toBeLessThan(25);
    expect(hearing.meanTrials).toBeLessThan(25);
  });

  it('as a simulation of 20,000 sessions finds it', () => {
    const short = { ...plan, mostTrials: 20 };
    const random = new SeededRandom(20261126);
    const sessions = 20_000;
    let heard = 0;
    let total = 0;
    for (let session = 0; session < sessions; session += 1) {
      let hits = 0;
      for (let trials = 1; ; trials += 1) {
        if (random.nextUnit() < 0.6) hits += 1;
        const verdict = sequentialVerdict(short, hits, trials);
        if (verdict === 'go on') continue;
        if (verdict === 'heard') heard += 1;
        total += trials;
        break;
      }
    }
    const exact = sequentialCharacteristics(short, 0.6);
    // Four standard errors of a share near a half, and of a mean of at most 20.
    expect(Math.abs(heard / sessions - exact.heard)).toBeLessThan(4 * Math.sqrt(0.25 / sessions));
    expect(Math.abs(total / sessions - exact.meanTrials)).toBeLessThan((4 * 10) / Math.sqrt(sessions));
  });

  it('ends at its last trial with the nearer line, whatever happens', () => {
    const short = { ...plan, mostTrials: 6 };
    expect(sequentialVerdict(short, 4, 6)).toBe('heard');
    expect(sequentialVerdict(short, 3, 6)).toBe('guessed');
    const { heard, meanTrials } = sequentialCharacteristics(short, 1);
    expect([heard, meanTrials]).toEqual([1, 6]);
  });
});
