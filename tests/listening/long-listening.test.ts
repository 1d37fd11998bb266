import { describe, expect, it } from 'vitest';
import { longPlanWords, longResult, sittingSides, type LongPlan, type SittingLog } from '../../dsp/listening/index.ts';

const planOf = (given: Partial<LongPlan> = {}): LongPlan => ({ pairs: 8, question: 'ease', significance: 0.05, seed: 7, ...given });
const names = ['in circuit', 'out of circuit'] as const;
const logOf = (given: Partial<SittingLog> = {}): SittingLog => ({ began: '2026-11-26T20:00', heardSeconds: 1800, toTheEnd: true, ease: 4, fatigue: 4, believed: 0, noIdea: false, words: '', ...given });
/** A log of every sitting, knowing which side it was. */
const logs = (plan: LongPlan, log: (side: 0 | 1, sitting: number) => Partial<SittingLog>) => sittingSides(plan).map((side, sitting) => logOf(log(side, sitting)));

describe('the order of sittings', () => {
  it('has both sides in each pair, follows from the seed alone, and goes either way as often', () => {
    const plan = planOf({ pairs: 40 });
    const sides = sittingSides(plan);
    expect(sides).toHaveLength(80);
    for (let pair = 0; pair < 40; pair += 1) expect(sides[2 * pair]).not.toBe(sides[2 * pair + 1]);
    expect(sittingSides(plan)).toEqual(sides);
    expect(sittingSides({ ...plan, seed: 8 })).not.toEqual(sides);
    const firsts = Array.from({ length: 500 }, (_, seed) => sittingSides({ ...plan, seed })).flat().filter((side, k) => k % 2 === 0 && side === 0).length;
    // Four standard errors of 20,000 coins.
    expect(Math.abs(firsts / 20_000 - 0.5)).toBeLessThan((4 * 0.5) / Math.sqrt(20_000));
  });

  it('is not made of a plan that is none', () => {
    expect(() => sittingSides(planOf({ pairs: 0 }))).toThrow('pairs: expected a whole number from 1 to 1000, got 0');
    expect(() => sittingSides(planOf({ seed: 0.5 }))).toThrow('seed: expected a whole number, got 0.5');
    expect(() => sittingSides(planOf({ significance: 1 }))).toThrow('significance: expected between 0 and 1, got 1');
    expect(() => sittingSides(planOf({ question: 'joy' as never }))).toThrow('question: expected one of ease, fatigue, told-apart, got joy');
  });
});

describe('what it showed', () => {
  it('eight pairs, in circuit always one step easier: p 2 / 256, and who is easier by name', () => {
    const plan = planOf();
    const result = longResult(plan, logs(plan, (side) => ({ ease: side === 0 ? 5 : 4 })), names);
    expect(result).toMatchObject({ wholePairs: 8, stopped: false, ease: { means: [5, 4], p: 2 / 256 }, fatigue: { means: [4, 4], p: 1 } });
    expect(result.words[0]).toBe('Ease: 5.00 in circuit, 4.00 out of circuit on average; so large a difference, either way, comes by chance with 0.0078.');
    expect(result.words[1]).toContain('At 5 % the two differ: easier to listen to was in circuit.');
    expect(result.words.filter((words) => words.startsWith('Looked at besides'))).toHaveLength(2);
    const reversed = longResult({ ...plan, question: 'fatigue' }, logs(plan, (side) => ({ fatigue: side === 0 ? 2 : 4 })), names);
    expect(reversed.words[1]).toContain('more tiring was out of circuit');
  });

  it('beliefs count by pairs: both right or both wrong; a pair believed the same twice says nothing', () => {
    const plan = planOf({ question: 'told-apart' });
    const result = longResult(plan, logs(plan, (side, sitting) => ({ believed: sitting < 4 ? 0 : side, noIdea: sitting < 3 })), names);
    expect(result.toldApart).toMatchObject({ hits: 6, of: 6, sameBeliefs: 2, noIdea: 3, p: 1 / 64 });
    expect(result.words.join(' ')).toContain('6 of 6 pairs named rightly');
    expect(result.words.join(' ')).toContain('In 2 pairs both were believed the same, which says nothing.');
    expect(result.words.join(' ')).toContain('the two were told apart over long listening');
    // A listener who names every sitting alike is half right in every pair, and has shown nothing.
    const stubborn = longResult(plan, logs(plan, () => ({ believed: 1 })), names);
    expect(stubborn.toldApart).toMatchObject({ hits: 0, of: 0, sameBeliefs: 8, p: 1, interval: null });
    expect(stubborn.words[1]).toContain('it was not shown that they can be told apart');
  });

  it('of few pairs says that they could not have shown anything', () => {
    const plan = planOf({ pairs: 4 });
    const result = longResult(plan, logs(plan, (side) => ({ ease: side === 0 ? 7 : 1 })), names);
    expect(result.ease.p).toBe(2 / 16);
    expect(result.words[1]).toContain('So few pairs could not have shown one: even all pointing the same way come by chance with 0.1250.');
  });

  it('ended early: says where, concludes nothing, leaves out the sitting without a partner', () => {
    const plan = planOf();
    const result = longResult(plan, logs(plan, (side) => ({ ease: side === 0 ? 7 : 1 })).slice(0, 13), names);
    expect(result).toMatchObject({ stopped: true, sittings: 13, planned: 16, wholePairs: 6 });
    expect(result.words[0]).toContain('Ended after 13 of 16 sittings');
    expect(result.words.join(' ')).not.toContain('the two differ');
    expect(result.words.join(' ')).toContain('The last sitting has no partner');
    expect(longResult(plan, [], names).words).toEqual([
      'Ended after 0 of 16 sittings: figures of a test that was not carried through as planned show nothing by themselves.', 'There is no whole pair of sittings, so nothing can be compared.',
    ]);
  });

  it('refuses logs that are none', () => {
    expect(() => longResult(planOf(), [logOf({ ease: 8 })], names)).toThrow('ease: expected a whole number from 1 to 7, got 8');
    expect(() => longResult(planOf(), [logOf({ believed: 2 as never })], names)).toThrow('believed: expected 0 or 1, got 2');
    expect(() => longResult(planOf({ pairs: 1 }), [logOf(), logOf(), logOf()], names)).toThrow('sittings: expected at most 2, got 3');
  });

  it('holds its word on chance: over seeds, a listener who rates by mood is found at no more than the level asked for', () => {
    let found = 0;
    const seeds = 2000;
    for (let seed = 0; seed < seeds; seed += 1) {
      const plan = planOf({ seed });
      // Mood alone: better and better from day to day, and the second sitting of a day worse.
      const result = longResult(plan, logs(plan, (_side, sitting) => ({ ease: Math.min(7, 1 + (sitting >> 1) + (sitting % 2 === 0 ? 1 : 0)) })), names);
      if (result.ease.p <= 0.05) found += 1;
    }
    // Never above 5 % but by four standard errors.
    expect(found / seeds).toBeLessThan(0.05 + 4 * Math.sqrt((0.05 * 0.95) / seeds));
  });
});

describe('what a plan can show', () => {
  it('is said beforehand', () => {
    expect(longPlanWords(planOf({ pairs: 5 }))).toBe('5 pairs cannot show it at 5 %: even if all pairs point the same way, that comes by chance with 0.0625.');
    expect(longPlanWords(planOf({ pairs: 8 }))).toContain('If all 8 pairs point the same way, that comes by chance with 0.0078.');
    // 7 of 8 are needed; 0.7: 0.2553, 0.9: 0.8131.
    expect(longPlanWords(planOf({ question: 'told-apart' }))).toBe('7 of 8 pairs must be named rightly. Someone who truly knows in 70 % of pairs gets there with 26 %, in 90 % with 81 %.');
    expect(longPlanWords(planOf({ question: 'told-apart', pairs: 4 }))).toContain('even all of them right come by guessing with 0.0625');
  });
});
