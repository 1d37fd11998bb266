/** What the shaping stage says about itself. */
import { atan, cos, ratioToDecibels } from '../../math/index.ts';
import type { StageReading, StageRemark, StageValues } from '../contract.ts';
import { formatValue } from '../shared/format-value.ts';
import { dbuToPeakVolts, peakVoltsToDbu } from '../shared/levels.ts';
import { numberOf } from '../shared/values.ts';
import { blockingHz } from './program.ts';
import { findFold, headroomDbu, lawOf, staticOutput, turnoverVolts } from './law.ts';

/** Phase of the band limit at f, degrees: second-order Butterworth. */
function branchPhaseDegrees(hz: number, limitHz: number): number {
  const x = hz / limitHz;
  const turn = x === 1 ? Math.PI / 2 : atan((Math.SQRT2 * x) / (1 - x * x)) + (x > 1 ? Math.PI : 0);
  return (-180 / Math.PI) * turn;
}

/** Why the values cannot be used: a law that folds, or a ceiling under the level its amounts are stated for. */
export function refuse(values: StageValues): string | null {
  const ceiling = numberOf(values, 'ceilingDbu');
  const reference = numberOf(values, 'referenceDbu');
  if (ceiling < reference) {
    return `ceilingDbu: expected at least the reference level, ${formatValue(reference, 'dBu')}, since the amounts hold there, got ${formatValue(ceiling, 'dBu')}`;
  }
  const fold = findFold(lawOf(values));
  if (fold === null) return null;
  const dbu = formatValue(Math.round(10 * peakVoltsToDbu(fold.volts)) / 10, 'dBu');
  return `expected a curve that rises throughout the headroom of +${headroomDbu} dBu, got one that turns over at ${dbu}: ask for less second or third harmonic, `
    + 'or lower the ceiling';
}

export function readings(values: StageValues): readonly StageReading[] {
  const law = lawOf(values);
  const turnover = turnoverVolts(law);
  const limitHz = numberOf(values, 'bandLimitHz');
  return [
    { label: 'gain, small signal', value: numberOf(values, 'makeUpDb'), quantity: 'gain', unit: 'dB', note: 'unity before make-up' },
    {
      label: 'gain change at reference', value: law.held ? 0 : ratioToDecibels(1 + 3 * law.third), quantity: 'gain', unit: 'dB',
      note: law.held ? 'the held law keeps the fundamental' : 'of the fundamental: 1 + 3 h3',
    },
    ...(turnover === null ? [] : [{
      label: 'turnover level', value: peakVoltsToDbu(turnover), quantity: 'level' as const, unit: 'dBu', note: 'where the curve would fold without its ceiling',
    }]),
    {
      label: 'branch phase at 1 kHz', value: branchPhaseDegrees(1000, limitHz), quantity: 'ratio', unit: '°',
      note: 'second-order Butterworth; harmonic n is turned by n times this',
    },
    { label: 'branch phase at 5 kHz', value: branchPhaseDegrees(5000, limitHz), quantity: 'ratio', unit: '°', note: 'a sign asked for holds while n times this stays well under 90°' },
  ];
}

export function remarks(values: StageValues): readonly StageRemark[] {
  return [
    {
      label: 'law',
      words: lawOf(values).held
        ? 'held: second and third Chebyshev polynomials of x over the envelope of its analytic signal (all-pass pair); x itself is not shifted'
        : 'polynomial: 2 h2 a² + 4 h3 a³, a relative to the reference peak',
    },
    { label: 'square blocked', words: `below ${blockingHz} Hz: so that its direct current does not shift the signal` },
    { label: 'polarity', words: 'kept' },
  ];
}

const samples = 256;
const cosine = Float64Array.from({ length: samples }, (_, n) => cos((2 * Math.PI * n) / samples));

/** THD (F) of the polynomial law for a 1 kHz sine of this peak, a ratio; by projection, all orders. */
function harmonicsRatio(values: StageValues, peakVolts: number): number {
  const law = lawOf(values);
  const x = 1000 / numberOf(values, 'bandLimitHz');
  const branchGain = 1 / Math.sqrt(1 + x * x * x * x);
  let mean = 0;
  let square = 0;
  let fundamental = 0;
  for (let n = 0; n < samples; n += 1) {
    const v = peakVolts * cosine[n]!;
    const branch = branchGain * v;
    const y = v + staticOutput(law, branch) - branch;
    mean += y / samples;
    square += (y * y) / samples;
    fundamental += (2 * y * cosine[n]!) / samples;
  }
  return Math.sqrt(Math.max(0, (2 * (square - mean * mean)) / (fundamental * fundamental) - 1));
}

const onePercent = 0.01;

/** As the contract says; null for the held law, whose THD is the same at every level, and for a law that stays below 1 %. */
export function clipOutputDbu(values: StageValues): number | null {
  if (lawOf(values).held) return null;
  const worst = (dbu: number): boolean => harmonicsRatio(values, dbuToPeakVolts(dbu)) >= onePercent;
  let over: number | null = null;
  for (let dbu = -40; dbu <= 40 && over === null; dbu += 1) if (worst(dbu)) over = dbu;
  if (over === null) return null;
  let under = over - 1;
  while (over - under > 0.02) {
    const middle: number = (over + under) / 2;
    if (worst(middle)) over = middle;
    else under = middle;
  }
  return over + numberOf(values, 'makeUpDb');
}
