/** The shaping stage's program: law and filter coefficients in one array. */
import { decibelsToRatio } from '../../math/index.ts';
import type { PolynomialProgram, StageValues } from '../contract.ts';
import { numberOf } from '../shared/values.ts';
import { lawOf } from './law.ts';
import { quadratureCoefficients, sectionCount, warped } from './quadrature.ts';

/** Corner of the first-order high-pass behind the even part, Hz: the DC of the square stops here. */
export const blockingHz = 2;

/** Where each coefficient stands in `PolynomialProgram.parameters`. */
export const at = {
  held: 0, referencePeakVolts: 1, second: 2, third: 3, ceilingVolts: 4, kneeVolts: 5, floorVolts: 6, makeUpRatio: 7,
  /** Of the band limit: g = tan(π f/rate), and 1/(1 + g (g + √2)), since a division would hold up every sample. */
  bandLimit: 8,
  bandLimitShare: 9,
  /** Pole of the DC blocking. */
  blocking: 10,
  quadrature: 11,
} as const;

const names: readonly string[] = [
  'held', 'referencePeakVolts', 'second', 'third', 'ceilingVolts', 'kneeVolts', 'floorVolts', 'makeUpRatio', 'bandLimit', 'bandLimitShare', 'blocking',
  ...Array.from({ length: sectionCount }, (_, k) => `quadrature${k}`),
];

/** A band limit above 0.45 of the internal rate is set there. */
export function shapingProgram(values: StageValues, rateHz: number): PolynomialProgram {
  const law = lawOf(values);
  const parameters = new Float64Array(names.length);
  parameters[at.held] = law.held ? 1 : 0;
  parameters[at.referencePeakVolts] = law.referencePeakVolts;
  parameters[at.second] = law.second;
  parameters[at.third] = law.third;
  parameters[at.ceilingVolts] = law.ceilingVolts;
  parameters[at.kneeVolts] = law.kneeVolts;
  parameters[at.floorVolts] = law.floorVolts;
  parameters[at.makeUpRatio] = decibelsToRatio(numberOf(values, 'makeUpDb'));
  const g = warped(Math.min(numberOf(values, 'bandLimitHz'), 0.45 * rateHz), rateHz);
  parameters[at.bandLimit] = g;
  parameters[at.bandLimitShare] = 1 / (1 + g * (g + Math.SQRT2));
  const corner = warped(blockingHz, rateHz);
  parameters[at.blocking] = (1 - corner) / (1 + corner);
  parameters.set(quadratureCoefficients(rateHz), at.quadrature);
  return { kind: 'polynomial', parameters, parameterNames: names };
}
