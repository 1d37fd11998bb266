import { describe, expect, it } from 'vitest';
import { isDate } from '../../dsp/setting/index.ts';

describe('a date in a file', () => {
  it('is a day of the calendar, every one of four hundred years and no other', () => {
    for (let year = 1900; year < 2300; year += 1) {
      for (let month = 0; month <= 13; month += 1) {
        for (const day of [0, 1, 9, 10, 19, 20, 28, 29, 30, 31, 32]) {
          const text = `${year}-${String(month).padStart(2, '0')}-${String(day).padStart(2, '0')}`;
          const made = new Date(Date.UTC(year, month - 1, day));
          const isDay = month >= 1 && month <= 12 && made.getUTCMonth() === month - 1 && made.getUTCDate() === day;
          if (isDate(text) !== isDay) throw new Error(`${text}: expected ${isDay}`);
        }
      }
    }
  });

  it('has nothing before, behind or left out', () => {
    for (const text of ['', '2026-1-5', ' 2026-11-26', '2026-11-26\n', '2026-11-26T20:15', '26-11-26', '2026/11/26']) expect(isDate(text), text).toBe(false);
  });
});
