/** How far a real equaliser strays from the curve it was drawn for. */
import type { Complex } from '../../circuit/index.ts';
import { ratioToDecibels } from '../../math/index.ts';
import type { StageCurve, StageReading } from '../contract.ts';
import { magnitude } from './complex.ts';
import { formatValue } from './format-value.ts';
import { logarithmicHertz } from './node-responses.ts';

/** Frequencies of the picture and of the figure, 80 a decade. */
const hertz = logarithmicHertz(20, 20e3, 241);

/** Levels in dB over one set of frequencies. */
export interface CurveDifference {
  readonly hertz: readonly number[];
  readonly actualDb: readonly number[];
  readonly idealDb: readonly number[];
  readonly largest: { readonly db: number; readonly hz: number };
}

/** `extraHertz`: looked at besides, a resonance among them. */
export function curveDifference(
  actual: (hertz: readonly number[]) => readonly Complex[], ideal: (hz: number) => Complex, extraHertz: readonly number[] = [],
): CurveDifference {
  const all = [...hertz, ...extraHertz.filter((hz) => hz > 20 && hz < 20e3)].sort((a, b) => a - b);
  const actualDb = actual(all).map((h) => ratioToDecibels(magnitude(h)));
  const idealDb = all.map((hz) => ratioToDecibels(magnitude(ideal(hz))));
  let at = 0;
  all.forEach((_, k) => {
    if (Math.abs(actualDb[k]! - idealDb[k]!) > Math.abs(actualDb[at]! - idealDb[at]!)) at = k;
  });
  return { hertz: all, actualDb, idealDb, largest: { db: actualDb[at]! - idealDb[at]!, hz: all[at]! } };
}

export const differenceReading = ({ largest }: CurveDifference, idealIs: string): StageReading => ({
  label: 'largest difference to ideal', value: largest.db, quantity: 'gain', unit: 'dB', note: `at ${formatValue(Number(largest.hz.toPrecision(2)), 'Hz')}, of 20 Hz to 20 kHz; ideal: ${idealIs}`,
});

/** The picture: what the circuit does, what was meant, and the difference. */
export function differenceCurve(difference: CurveDifference, marks: StageCurve['marks'], caption: string): StageCurve {
  const { hertz: at, actualDb, idealDb } = difference;
  return {
    hertz: at,
    traces: [
      { label: 'circuit', role: 'whole', db: actualDb },
      { label: 'ideal', role: 'ideal', db: idealDb },
      { label: 'difference', role: 'difference', db: actualDb.map((db, k) => db - idealDb[k]!) },
    ],
    marks,
    caption,
  };
}
