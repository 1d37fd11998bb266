import { describe, expect, it } from 'vitest';
import { BlindSession, blindResult, requireBlindPlan, type BlindAnswer, type BlindPlan, type BlindToken } from '../../dsp/listening/index.ts';

const abx = (given: Partial<BlindPlan> = {}): BlindPlan => ({ task: 'identify', length: { kind: 'fixed', trials: 16, significance: 0.05 }, nullShare: 0, training: 0, seed: 7, ...given });
const prefer = (given: Partial<BlindPlan> = {}): BlindPlan => ({ ...abx(given), task: 'prefer' });

/** Answers every trial as `answer` has it, knowing what sounds for each token. */
function play(plan: BlindPlan, answer: (sides: Readonly<Record<BlindToken, number | null>>, session: BlindSession) => BlindAnswer): BlindSession {
  const session = new BlindSession(plan);
  while (session.progress.phase !== 'ended') {
    const X = plan.task === 'identify' ? session.hear('X') : null;
    session.answer(answer({ A: session.hear('A'), B: session.hear('B'), X }, session));
  }
  return session;
}

const knowing = ({ A, X }: Readonly<Record<BlindToken, number | null>>): BlindAnswer => (X === A ? 1 : 2);

describe('trials', () => {
  it('follow from the seed alone, with A the same thing throughout', () => {
    const sidesOf = (seed: number): (number | null)[][] => {
      const rows: (number | null)[][] = [];
      play(abx({ seed, length: { kind: 'fixed', trials: 40, significance: 0.05 } }), ({ A, B, X }) => {
        rows.push([A, B, X]);
        return 1;
      });
      return rows;
    };
    const rows = sidesOf(7);
    expect(sidesOf(7)).toEqual(rows);
    expect(sidesOf(8)).not.toEqual(rows);
    expect(new Set(rows.map(([A]) => A)).size).toBe(1);
    expect(rows.every(([A, B]) => A !== B)).toBe(true);
  });

  it('have X by a fair coin that remembers nothing, over seeds too', () => {
    let ones = 0;
    let changes = 0;
    let count = 0;
    for (let seed = 0; seed < 400; seed += 1) {
      let before: boolean | null = null;
      play(abx({ seed, length: { kind: 'fixed', trials: 25, significance: 0.05 } }), ({ A, X }) => {
        const isA = X === A;
        if (isA) ones += 1;
        if (before !== null && before !== isA) changes += 1;
        before = isA;
        count += 1;
        return 1;
      });
    }
    // Four standard errors of 10,000 and of 9,600 coins.
    expect(Math.abs(ones / count - 0.5)).toBeLessThan(4 * 0.5 / Math.sqrt(count));
    expect(Math.abs(changes / (count - 400) - 0.5)).toBeLessThan(4 * 0.5 / Math.sqrt(count - 400));
  });

  it('have null trials strewn among them, in the number asked for, never told apart by the progress', () => {
    const plan = abx({ length: { kind: 'fixed', trials: 15, significance: 0.05 }, nullShare: 0.25 });
    const session = play(plan, ({ A, B }, { progress }) => {
      expect(progress.of).toBe(20);
      return A === B ? 2 : 1;
    });
    const { trials } = session.ended()!;
    expect(trials.filter(({ isNull }) => isNull)).toHaveLength(5);
    expect(trials.filter(({ isNull }) => isNull).every(({ hit, A, B }) => hit === null && A === B)).toBe(true);
    const places = new Set(Array.from({ length: 30 }, (_, seed) => play({ ...plan, seed }, () => 1).ended()!.trials.findIndex(({ isNull }) => isNull)));
    expect(places.size).toBeGreaterThan(4);
  });

  it('of preference swap the places of the two, and have no X', () => {
    const rows: number[] = [];
    play(prefer({ length: { kind: 'fixed', trials: 60, significance: 0.05 } }), ({ A }) => {
      rows.push(A!);
      return 0;
    });
    const firsts = rows.filter((side) => side === 0).length;
    expect(firsts).toBeGreaterThan(15);
    expect(firsts).toBeLessThan(45);
    expect(() => new BlindSession(prefer()).hear('X')).toThrow('token: expected A or B, got X');
  });
});

describe('a session', () => {
  it('trains first, tells the truth there and nothing after, and keeps the result to itself until the end', () => {
    const session = new BlindSession(abx({ training: 2 }));
    const before = session.hear('A');
    for (let trial = 1; trial <= 2; trial += 1) {
      expect(session.progress).toEqual({ phase: 'training', number: trial, of: 2 });
      const truth = session.hear('X') === session.hear('A') ? 'A' : 'B';
      expect(session.answer(1).truth).toBe(truth);
    }
    expect(session.progress).toEqual({ phase: 'trials', number: 1, of: 16 });
    expect(session.hear('A')).toBe(before);
    expect(session.answer(1)).toEqual({ progress: { phase: 'trials', number: 2, of: 16 }, truth: null });
    expect(session.ended()).toBeNull();
  });

  it('counts how often each was listened to', () => {
    const session = new BlindSession(abx({ length: { kind: 'fixed', trials: 1, significance: 0.5 } }));
    for (const token of ['A', 'X', 'X', 'B'] as const) session.hear(token);
    session.answer(2);
    expect(session.ended()!.trials[0]!.listens).toEqual({ A: 1, B: 1, X: 2 });
  });

  it('records which excerpts were heard in each trial: chosen before or while a token sounds, not those passed over in silence', () => {
    const session = new BlindSession(abx({ length: { kind: 'fixed', trials: 3, significance: 0.5 } }), 4);
    session.choose(3);
    session.choose(2);
    session.hear('A');
    session.choose(4);
    session.answer(1);
    // It stays chosen.
    session.hear('X');
    session.answer(1);
    session.choose(1);
    session.answer(2);
    expect(session.ended()!.trials.map(({ excerpts }) => excerpts)).toEqual([[2, 4], [4], []]);
    expect(() => new BlindSession(abx(), 4).choose(5)).toThrow('excerpt: expected 1 to 4, got 5');
    expect(() => new BlindSession(abx(), 13)).toThrow('excerpts: expected 1 to 12, got 13');
    expect(() => session.choose(1)).toThrow('trial: expected one under way, got a comparison that has ended');
  });

  it('takes no answer after the end, and no 0 where X is one of the two', () => {
    const session = new BlindSession(abx({ length: { kind: 'fixed', trials: 1, significance: 0.5 } }));
    expect(() => session.answer(0)).toThrow('answer: expected 1 or 2, got 0');
    session.answer(1);
    expect(() => session.answer(1)).toThrow('trial: expected one under way, got a comparison that has ended');
  });

  it('ends by its sequential rule: after eight straight hits', () => {
    const plan = abx({ length: { kind: 'sequential', plan: { guessRate: 0.5, heardRate: 0.75, falseAlarm: 0.05, miss: 0.05, mostTrials: 60 } } });
    const session = play(plan, knowing);
    const result = blindResult(plan, session.ended()!);
    expect(result).toMatchObject({ task: 'identify', trials: 8, hits: 8, verdict: 'heard', planned: null, stopped: false });
    expect(result.words.join(' ')).toContain('The rule decided: a difference was heard.');
  });

  it('refuses a plan that is none', () => {
    expect(() => requireBlindPlan(abx({ nullShare: 0.6 }))).toThrow('nullShare: expected a share from 0 to 0.5, got 0.6');
    expect(() => requireBlindPlan(abx({ length: { kind: 'fixed', trials: 0, significance: 0.05 } }))).toThrow('trials: expected a whole number from 1');
    const sequential = { guessRate: 0.5, heardRate: 0.75, falseAlarm: 0.05, miss: 0.05, mostTrials: 60 };
    expect(() => requireBlindPlan(abx({ length: { kind: 'sequential', plan: { ...sequential, guessRate: 0.4 } } }))).toThrow('guessRate: expected 0.5, for X is one of two, got 0.4');
    expect(() => requireBlindPlan(abx({ length: { kind: 'sequential', plan: { ...sequential, mostTrials: 0 } } }))).toThrow('mostTrials: expected a whole number from 1 to 2000, got 0');
    expect(() => requireBlindPlan(prefer({ length: { kind: 'sequential', plan: { guessRate: 0.5, heardRate: 0.75, falseAlarm: 0.05, miss: 0.05, mostTrials: 60 } } }))).toThrow('length: expected a fixed number');
  });
});

describe('a result', () => {
  it('of 12 hits in 16: p 0.0384, needed 12, power at 0.7 of 0.45, and what that means', () => {
    let right = 0;
    const plan = abx();
    const session = play(plan, (sides) => {
      right += 1;
      const truth = knowing(sides);
      return right <= 12 ? truth : truth === 1 ? 2 : 1;
    });
    const result = blindResult(plan, session.ended()!);
    if (result.task !== 'identify') throw new Error(result.task);
    expect([result.hits, result.trials, result.needed]).toEqual([12, 16, 12]);
    expect(Math.abs(result.p - 2517 / 65536)).toBeLessThan(1e-15);
    expect(Math.abs(result.power[1]! - 0.4499041)).toBeLessThan(5e-8);
    expect(result.words[1]).toContain('At least 12 were needed for 5 %: reached.');
    expect(result.words.join(' ')).toContain('nothing of which is better');
  });

  it('of a session that was left says where, and concludes nothing', () => {
    const plan = abx();
    const session = new BlindSession(plan);
    for (let trial = 0; trial < 5; trial += 1) session.answer(knowing({ A: session.hear('A'), B: session.hear('B'), X: session.hear('X') }));
    session.stop();
    const result = blindResult(plan, session.ended()!);
    expect(result.stopped).toBe(true);
    expect(result.words.join(' ')).toContain('Stopped at 5 of 16');
    expect(result.words.join(' ')).not.toContain('needed');
  });

  it('of too few trials says that they cannot show anything', () => {
    const plan = abx({ length: { kind: 'fixed', trials: 4, significance: 0.05 } });
    const result = blindResult(plan, play(plan, knowing).ended()!);
    expect(result.words.join(' ')).toContain('So few trials cannot show anything at 5 %');
  });

  it('of preference counts by side, leaves out the undecided, and looks at the null trials', () => {
    const plan = prefer({ length: { kind: 'fixed', trials: 12, significance: 0.05 }, nullShare: 0.2 });
    let seen = 0;
    const session = play(plan, ({ A, B }) => {
      if (A === B) return 1;
      seen += 1;
      if (seen > 10) return 0;
      return A === 0 ? 1 : 2;
    });
    const result = blindResult(plan, session.ended()!);
    expect(result).toMatchObject({ task: 'prefer', first: 10, second: 0, none: 2, nullTrials: 3, nullPreferred: 3 });
    expect(Math.abs(result.p - 2 / 1024)).toBeLessThan(1e-12);
    expect(result.words.join(' ')).toContain('prefers the first');
    // Of 12 trials 10 on one side are needed (2 · 79 / 4096 = 3.9 %); 0.9: 0.8891.
    expect(result.words.join(' ')).toContain('Chance of showing a preference that is truly for one side in 60 %: 9 %, 70 %: 25 %, 80 %: 56 %, 90 %: 89 %');
  });
});
