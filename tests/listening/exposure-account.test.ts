import { describe, expect, it } from 'vitest';
import { dailyShare, occupationalDailyMinutes, playedLevelDba, rollingWeekShare, weeklyShare, withExposure, type DayExposure } from '../../dsp/listening/index.ts';

const day = '2026-11-26';
const near = (actual: number, expected: number, limit = 1e-12) => {
  if (!(Math.abs(actual - expected) <= limit)) throw new Error(`expected ${expected} within ${limit}, got ${actual}`);
};

describe('a calibrated output', () => {
  const calibration = { levelDba: 72, meanSquare: 4e-6 };

  it('has the level that was read at the mean square it was read at, and follows it', () => {
    expect(playedLevelDba(calibration, 4e-6)).toBe(72);
    near(playedLevelDba(calibration, 4e-4), 92);
    // Half the power.
    near(playedLevelDba(calibration, 2e-6), 72 - 10 * Math.log10(2), 1e-9);
    expect(playedLevelDba(calibration, 0)).toBe(-Infinity);
  });
});

describe('exposure by day', () => {
  it('is all of a day at 85 dB(A) for eight hours, and all of it in half the time 3 dB up', () => {
    near(dailyShare(withExposure([], day, 85, 8 * 3600), day), 1);
    near(dailyShare(withExposure([], day, 88, 4 * 3600), day), 1);
    near(dailyShare(withExposure([], day, 100, 15 * 60), day), 1);
    near(dailyShare(withExposure([], day, 82, 60 * occupationalDailyMinutes(82)), day), 1);
  });

  it('is all of a week at 80 dB(A) for 40 hours; for sensitive listeners at 75', () => {
    near(rollingWeekShare(withExposure([], day, 80, 40 * 3600), day, 'adults'), 1);
    near(rollingWeekShare(withExposure([], day, 75, 40 * 3600), day, 'sensitiveListeners'), 1);
    near(rollingWeekShare(withExposure([], day, 92, 3600), day, 'adults'), weeklyShare(92, 1));
  });

  it('sums pieces to the whole', () => {
    const whole = withExposure([], day, 91, 3600);
    let pieces: readonly DayExposure[] = [];
    for (let second = 0; second < 3600; second += 1) pieces = withExposure(pieces, day, 91, 1);
    near(dailyShare(pieces, day), dailyShare(whole, day));
    near(rollingWeekShare(pieces, day, 'adults'), rollingWeekShare(whole, day, 'adults'));
    expect(pieces).toHaveLength(1);
    near(pieces[0]!.seconds, 3600);
  });

  it('counts today and the six days before, over the end of a month and of a year', () => {
    let days: readonly DayExposure[] = [];
    for (const date of ['2026-12-27', '2026-12-28', '2026-12-31', '2027-01-03']) days = withExposure(days, date, 80, 3600);
    // The 27th is the seventh day before.
    expect(days.map((entry) => entry.day)).toEqual(['2026-12-28', '2026-12-31', '2027-01-03']);
    near(rollingWeekShare(days, '2027-01-03', 'adults'), 3 / 40);
    near(rollingWeekShare(days, '2027-01-04', 'adults'), 2 / 40);
    expect(rollingWeekShare(days, '2027-02-01', 'adults')).toBe(0);
    expect(dailyShare(days, '2027-01-02')).toBe(0);
  });

  it('knows which day comes after which, in every month of a leap year and others', () => {
    for (let at = Date.UTC(1999, 11, 20); at < Date.UTC(2001, 2, 5); at += 86_400_000) {
      const iso = (ms: number) => new Date(ms).toISOString().slice(0, 10);
      const days = withExposure([], iso(at), 80, 3600);
      near(rollingWeekShare(days, iso(at + 6 * 86_400_000), 'adults'), 1 / 40);
      expect(rollingWeekShare(days, iso(at + 7 * 86_400_000), 'adults')).toBe(0);
      expect(rollingWeekShare(days, iso(at - 86_400_000), 'adults')).toBe(0);
    }
  });

  it('takes silence for nothing', () => {
    expect(withExposure([], day, -Infinity, 60)).toEqual([{ day, occupationalShare: 0, pascalSquaredHours: 0, seconds: 60 }]);
  });
});
