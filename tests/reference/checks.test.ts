import { describe, expect, it } from 'vitest';
import { check, checksOf, expectedNumbers, expectWithin, misses, numberInput, numbersInput } from './checks.ts';
import type { ReferenceCheck, Tolerance } from './checks.ts';

function made(expected: ReferenceCheck['expected'], tolerance: Tolerance): ReferenceCheck {
  return { id: 'MADE', quantity: '', inputs: { n: [1, 2], one: 1 }, expected, unit: 'V', tolerance, source: '', verified: '', formula: '', evidence: '' };
}

describe('reference checks', () => {
  it('finds a check by its identifier, and refuses an unknown one', () => {
    expect(numberInput(check('COH-997'), 'fs')).toBe(48000);
    expect(() => check('COH-998')).toThrow('COH-998');
    expect(checksOf('HB-ELL-').length).toBe(5);
    expect(() => checksOf('NONE-')).toThrow('NONE-');
  });

  it('reads inputs by type', () => {
    const entry = made(1, { type: 'abs', value: 1 });
    expect(numbersInput(entry, 'n')).toEqual([1, 2]);
    expect(() => numberInput(entry, 'n')).toThrow('"n"');
    expect(() => numbersInput(entry, 'one')).toThrow('"one"');
  });

  it('holds every check to a tolerance it understands', () => {
    for (const entry of checksOf('')) {
      if (entry.tolerance.type === 'info') continue;
      expectWithin(entry, expectedNumbers(entry));
    }
  });

  it.each<[string, ReferenceCheck['expected'], Tolerance, number | number[], number]>([
    ['rel inside', 100, { type: 'rel', value: 0.01 }, 100.9, 0],
    ['rel outside', 100, { type: 'rel', value: 0.01 }, 101.1, 1],
    ['rel of a negative value', -100, { type: 'rel', value: 0.01 }, -101.1, 1],
    ['abs inside', 1, { type: 'abs', value: 0.1 }, 0.95, 0],
    ['abs outside', 1, { type: 'abs', value: 0.1 }, 0.85, 1],
    ['plus', 1, { type: 'abs', plus: 0.2, minus: 0.4 }, 1.25, 1],
    ['minus', 1, { type: 'abs', plus: 0.2, minus: 0.4 }, 0.65, 0],
    ['below minus', 1, { type: 'abs', plus: 0.2, minus: 0.4 }, 0.55, 1],
    ['max held', 0.1, { type: 'max' }, 0.05, 0],
    ['max passed', 0.1, { type: 'max' }, 0.15, 1],
    ['below the floor', 1e-15, { type: 'rel', value: 1e-6, floor: 1e-12 }, 5e-13, 0],
    ['far above the floor', 1e-15, { type: 'rel', value: 1e-6, floor: 1e-12 }, 5e-12, 1],
    ['below the floor in dB', -250, { type: 'abs', value: 0.05, floor_dB: -200 }, -230, 0],
    ['above the floor in dB', -250, { type: 'abs', value: 0.05, floor_dB: -200 }, -199, 1],
    ['NaN', 1, { type: 'abs', value: 0.1 }, NaN, 1],
    ['NaN against a limit', 1, { type: 'max' }, NaN, 1],
    ['one of three', [1, 2, 3], { type: 'abs', value: 0.1 }, [1, 2.2, 3], 1],
    ['rows', [[1, 2], [3, 4]], { type: 'abs', value: 0.1 }, [1, 2, 3, 4], 0],
    ['too short', [1, 2, 3], { type: 'abs', value: 0.1 }, [1, 2], 1],
    ['too long', [1, 2], { type: 'abs', value: 0.1 }, [1, 2, 3], 1],
  ])('compares: %s', (_name, expected, tolerance, actual, count) => {
    expect(misses(made(expected, tolerance), actual)).toHaveLength(count);
  });

  it('fails the test that uses it, and refuses facts and texts', () => {
    expect(() => expectWithin(made(1, { type: 'abs', value: 0.1 }), 2)).toThrow();
    expect(() => misses(made(1, { type: 'info' }), 1)).toThrow('nothing to compare');
    expect(() => misses(made('local code', { type: 'abs', value: 1 }), 1)).toThrow('local code');
  });
});
