import { describe, expect, it } from 'vitest';
import { harmonicFigures } from '../../dsp/circuit/index.ts';
import { check, expectWithin, numbersInput } from '../reference/checks.ts';

const frames = 4096;
/** One period sampled half-way between the ticks, so that no sample falls on a jump; what is left is (π/N)²/6 of each figure, 1e-7. */
const sampled = (wave: (turn: number) => number) => Float64Array.from({ length: frames }, (_, i) => wave((i + 0.5) / frames));
/** Orders that the period holds; of one with two cycles, half as many. */
const ordersOf = (cycles: number) => Array.from({ length: frames / 2 / cycles - 2 }, (_, k) => k + 2);

const sine = (turn: number) => Math.sin(2 * Math.PI * turn);
const waves: [id: string, cycles: number, wave: (turn: number) => number][] = [
  ['THD-SQUARE', 1, (turn) => (turn < 0.5 ? 1 : -1)],
  ['THD-TRIANGLE', 1, (turn) => 1 - 4 * Math.abs(turn - 0.5)],
  ['THD-SAW', 1, (turn) => 2 * turn - 1],
  ['THD-PULSE25', 1, (turn) => (turn < 0.25 ? 1 : 0)],
  ['THD-HALFWAVE', 1, (turn) => Math.max(0, sine(turn))],
  ['THD-FULLWAVE', 2, (turn) => Math.abs(sine(turn))],
];

describe('total harmonic distortion of waves with a closed form', () => {
  it.each(waves)('%s', (id, cycles, wave) => {
    expectWithin(check(id), 100 * harmonicFigures(sampled(wave), cycles, ordersOf(cycles)).thd.f);
  });

  it('THD-HALFWAVE-H: even orders of the half-wave, within 1e-5: the period is sampled', () => {
    const { harmonics } = harmonicFigures(sampled((turn) => Math.max(0, sine(turn))), 1, [2, 4, 6]);
    expectWithin(check('THD-HALFWAVE-H'), harmonics.map(({ ratio }) => ratio), { type: 'rel', value: 1e-5 });
  });

  it('THD-F-R: what F is in R', () => {
    const reference = check('THD-F-R');
    const measured = numbersInput(reference, 'thd_f_pct').map((percent) => {
      const { thd } = harmonicFigures(Float64Array.from({ length: 64 }, (_, i) => Math.cos((2 * Math.PI * i) / 64) + (percent / 100) * Math.cos((6 * Math.PI * i) / 64)), 1, [2, 3]);
      expect(Math.abs(100 * thd.f - percent)).toBeLessThan(1e-9);
      return 100 * thd.r;
    });
    expectWithin(reference, measured);
  });
});
