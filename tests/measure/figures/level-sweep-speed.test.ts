// Harmonics against level stay a matter of a moment: with slack for slow and busy machines. What it takes is in the bench.
import { describe, expect, it } from 'vitest';
import { subjectOfSetting } from '../../../dsp/measure/figures/index.ts';
import { openingSetting } from '../../../dsp/setting/index.ts';
import { installCompiledCode } from '../../../ui/command-line/compiled-code.ts';
import { sweepOnce } from '../../bench/level-sweep.ts';

installCompiledCode();

describe('harmonics against level of the opening path, 61 levels, H2 to H10, in processor time', () => {
  const { path, joints } = openingSetting();
  const subject = subjectOfSetting({ path, joints, baseRateHz: 48_000, scope: { kind: 'path' }, programme: null });

  it('take 0.4 s, the first points 30 ms, and let go in less than 50 ms: with slack', () => {
    // The best of three, against four times as long as is promised of a machine that has nothing else to do.
    const rounds = Array.from({ length: 3 }, () => sweepOnce(subject, 1000));
    const best = (key: keyof (typeof rounds)[number]): number => Math.min(...rounds.map((round) => round[key]));
    expect(best('totalMilliseconds') <= 1600, `${best('totalMilliseconds')} ms`).toBe(true);
    expect(best('firstPointsMilliseconds') <= 120, `${best('firstPointsMilliseconds')} ms`).toBe(true);
    expect(best('longestStepMilliseconds') <= 100, `${best('longestStepMilliseconds')} ms`).toBe(true);
  });

  it('let go in good time on the way through 20 Hz as well', () => {
    const round = sweepOnce(subject, 20, 5);
    // Twice the 50 ms of a cancel: a pass over 19,200 samples at four steps each.
    expect(round.longestStepMilliseconds <= 100, `${round.longestStepMilliseconds} ms`).toBe(true);
  });
});
