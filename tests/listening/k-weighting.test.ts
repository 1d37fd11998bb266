import { describe, expect, it } from 'vitest';
import { kWeighting, type SecondOrderSection } from '../../dsp/listening/index.ts';
import { check, expectWithin, numberInput, numbersInput } from '../reference/checks.ts';

const coefficients = ({ b0, b1, b2, a1, a2 }: SecondOrderSection): number[] => [b0, b1, b2, a1, a2];

/** Gain of a section in dB, from its transfer function. */
function sectionDb({ b0, b1, b2, a1, a2 }: SecondOrderSection, hz: number, rateHz: number): number {
  const w = (2 * Math.PI * hz) / rateHz;
  const [c1, s1, c2, s2] = [Math.cos(w), Math.sin(w), Math.cos(2 * w), Math.sin(2 * w)];
  return 10 * Math.log10(((b0 + b1 * c1 + b2 * c2) ** 2 + (b1 * s1 + b2 * s2) ** 2) / ((1 + a1 * c1 + a2 * c2) ** 2 + (a1 * s1 + a2 * s2) ** 2));
}

const kDb = (hz: number, rateHz: number): number => {
  const { shelf, highPass } = kWeighting(rateHz);
  return sectionDb(shelf, hz, rateHz) + sectionDb(highPass, hz, rateHz);
};

describe('K-weighting', () => {
  it.each(['K-PRE-48k', 'K-PRE-44100', 'K-PRE-96000'])('%s', (id) => {
    expectWithin(check(id), coefficients(kWeighting(numberInput(check(id), 'fs')).shelf));
  });

  it.each(['K-RLB-48k', 'K-RLB-44100', 'K-RLB-96000'])('%s', (id) => {
    expectWithin(check(id), coefficients(kWeighting(numberInput(check(id), 'fs')).highPass));
  });

  it('K-RESPONSE-48k and K-997', () => {
    const response = check('K-RESPONSE-48k');
    expectWithin(response, numbersInput(response, 'f_Hz').map((hz) => kDb(hz, 48_000)));
    expectWithin(check('K-997'), kDb(997, 48_000));
  });

  it('the prototype meets the 48 kHz table: a rate one hertz away differs by no more than the hertz does', () => {
    const [table, beside] = [kWeighting(48_000), kWeighting(48_001)];
    coefficients(table.shelf).forEach((value, i) => {
      // The largest slope of a coefficient against rate is 1.1e-5 per hertz (b1).
      const error = Math.abs(coefficients(beside.shelf)[i]! - value);
      expect(error <= 1.2e-5, `shelf ${i}: ${error}`).toBe(true);
    });
  });

  // 0.1 dB: the unscaled high-pass numerator (0.03 dB at 384 kHz) and the bilinear transform's narrowing of the shelf near half the rate.
  it.each([44_100, 88_200, 96_000, 176_400, 192_000, 352_800, 384_000])('%d Hz weighs like 48 kHz, 20 Hz to 10 kHz, within 0.1 dB', (rateHz) => {
    for (let hz = 20; hz <= 10_000; hz *= 1.1) {
      const error = Math.abs(kDb(hz, rateHz) - kDb(hz, 48_000));
      if (!(error <= 0.1)) throw new Error(`${hz} Hz: ${kDb(hz, rateHz)} dB, at 48 kHz ${kDb(hz, 48_000)} dB, error ${error}`);
    }
  });
});
