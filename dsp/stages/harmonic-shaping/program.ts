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
  /** tan(π f/rate) of the band limit. */
  bandLimit: 8,
  /** Pole of the DC blocking. */
  blocking: 9,
  quadrature: 10,
} as const;

const names: readonly string[] = [
  'held', 'referencePeakVolts', 'second', 'third', 'ceilingVolts', 'kneeVolts', 'floorVolts', 'makeUpRatio', 'bandLimit', 'blocking',
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
  parameters[at.bandLimit] = warped(Math.min(numberOf(values, 'bandLimitHz'), 0.45 * rateHz), rateHz);
  const corner = warped(blockingHz, rateHz);
  parameters[at.blocking] = (1 - corner) / (1 + corner);
  parameters.set(quadratureCoefficients(rateHz), at.quadrature);
  return { kind: 'polynomial', parameters, parameterNames: names };
}
