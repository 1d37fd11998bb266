/** Harmonic distortion of a record that was driven with one tone: total, weighted by order, and of the curve. */
import { figuresOfProjection, type HarmonicFigures } from '../../circuit/index.ts';
import { weightedByHalfOrder, weightedByOrderSquared } from '../weighting.ts';
import { kilohertz } from './intermodulation-products.ts';
import { readLines, type LineReader } from './line-reader.ts';
import { curvatureOf, type CurvatureFigure } from './transfer-curvature.ts';
import { leastTonePeak, whyUnreadable, type Metered, type WaveRecord } from './wave-record.ts';

export interface DistortionReading extends HarmonicFigures {
  /** Ratios: n/2 and n²/4. */
  readonly weighted: { readonly halfOrder: number; readonly orderSquared: number };
  /** Null where the curve has no slope in its middle. */
  readonly curvature: CurvatureFigure | null;
}

/** A fundamental weaker than this, of the strongest harmonic, is not there. */
const leastFundamental = 1e-7;

/** Orders from 2 on whose frequency lies below `belowHz`, at most `highest`. */
export function ordersBelow(fundamentalHz: number, belowHz: number, highest = Infinity): number[] {
  const orders: number[] = [];
  for (let order = 2; order <= highest && order * fundamentalHz < belowHz; order += 1) orders.push(order);
  return orders;
}

/** Of the orders asked for; those from half the rate on are left out. */
export function meterDistortion(record: WaveRecord, fundamentalHz: number, orders: readonly number[]): Metered<DistortionReading> {
  const refusal = whyUnreadable(record);
  if (refusal !== null) return { refusal };
  const reading = readDistortion(readLines(record), fundamentalHz, orders.filter((order) => order * fundamentalHz < record.rateHz / 2));
  if (reading.refusal === undefined && !(reading.fundamental.peakVolts > leastTonePeak(record))) return noTone(fundamentalHz);
  return reading;
}

/** The same of a spectrum. */
function readDistortion(lines: LineReader, fundamentalHz: number, orders: readonly number[]): Metered<DistortionReading> {
  if (!(lines.apartHz <= fundamentalHz * (1 + 1e-9))) return { refusal: `too short: lines less than ${kilohertz(lines.apartHz)} apart run together, and harmonics lie ${kilohertz(fundamentalHz)} apart` };
  const projection = lines.at([1, ...orders].map((order) => order * fundamentalHz));
  const strongest = projection.amplitudes.reduce((most, peak) => Math.max(most, peak), 0);
  if (!(projection.amplitudes[0]! > leastFundamental * strongest)) return noTone(fundamentalHz);
  const figures = figuresOfProjection(projection, orders);
  return {
    ...figures,
    weighted: { halfOrder: weightedByHalfOrder(figures.harmonics), orderSquared: weightedByOrderSquared(figures.harmonics) },
    curvature: curvatureOf(figures.harmonics),
  };
}

function noTone(hz: number): { readonly refusal: string } {
  return { refusal: `no tone at ${kilohertz(hz)}: there is nothing to count harmonics over` };
}
