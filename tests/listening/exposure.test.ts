import { describe, expect, it } from 'vitest';
import { exposurePascalSquaredHours, occupationalDailyMinutes, weeklyHours, weeklyReference, weeklyShare } from '../../dsp/listening/index.ts';
import { check, checksOf, expectWithin, numberInput } from '../reference/checks.ts';

describe('sound exposure', () => {
  it.each(checksOf('SAFE-NIOSH-').map((entry) => entry.id))('%s', (id) => {
    expectWithin(check(id), occupationalDailyMinutes(numberInput(check(id), 'dBA')));
  });

  it.each(checksOf('SAFE-H870-').filter((entry) => entry.unit === 'h').map((entry) => entry.id))('%s', (id) => {
    expectWithin(check(id), weeklyHours(numberInput(check(id), 'dBA')));
  });

  it('SAFE-H870-DOSE', () => {
    const reference = check('SAFE-H870-DOSE');
    expectWithin(reference, exposurePascalSquaredHours(numberInput(reference, 'dBA'), numberInput(reference, 'hours')));
  });

  it('SAFE-H870-CHILD', () => {
    const { levelDba, hours } = weeklyReference.sensitiveListeners;
    expectWithin(check('SAFE-H870-CHILD'), [levelDba, hours]);
    expect(weeklyHours(levelDba, 'sensitiveListeners')).toBe(hours);
  });

  it('shares of a week add up', () => {
    const shares = weeklyShare(80, 20) + weeklyShare(83, weeklyHours(83) / 2);
    expect(Math.abs(shares - 1) <= 1e-12).toBe(true);
    expect(Math.abs(weeklyShare(75, 20, 'sensitiveListeners') - 0.5) <= 1e-12).toBe(true);
  });
});
