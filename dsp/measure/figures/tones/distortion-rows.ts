/** The rows that single figures of a path and of a recording have in common: what each counts, over what, and where that is laid down. */
import { ratioToDecibels } from '../../../math/index.ts';
import { kilohertz, notchQ, standardNotch, type CurvatureFigure, type DistortionAndNoiseReading } from '../../tones/index.ts';
import type { FigureCell, FigureColumn } from '../contract.ts';
import { column } from './words.ts';

export const practice = 'common practice, no source';
export const bandWords = `${kilohertz(standardNotch.bandHz[0])} to ${kilohertz(standardNotch.bandHz[1])}`;

export const distortionColumns: readonly FigureColumn[] = [
  column.text('figure'), column.percent('ratio'), column.decibels('level'), { label: 'number', unit: '', written: 'plain', digits: 5 }, column.volts('volts'), column.text('what is counted, over what'), column.text('source'),
];

export interface DistortionFigures {
  readonly thd: { readonly f: number; readonly r: number };
  readonly weighted: { readonly halfOrder: number; readonly orderSquared: number };
  readonly curvature: CurvatureFigure | null;
  readonly distortionAndNoise: DistortionAndNoiseReading;
  /** Peak over rms about the mean. */
  readonly crest: number;
}

export interface RowWords {
  readonly highestOrder: number;
  /** What THD+N counts: "harmonics and noise". */
  readonly counted: string;
  /** Ratios below are not shown. */
  readonly floorDb: number;
}

type Row = { readonly cells: readonly FigureCell[] };

/** A row of `distortionColumns`; a ratio gives its decibels too. */
export function figureRow(
  label: string, cells: { readonly ratio?: number; readonly db?: number; readonly number?: number; readonly volts?: number }, counted: string, source: string, floorDb = -Infinity,
): Row {
  const db = cells.ratio === undefined ? (cells.db ?? null) : ratioToDecibels(cells.ratio);
  const under = cells.ratio !== undefined && !(db! > floorDb);
  return { cells: [label, cells.ratio === undefined || under ? null : 100 * cells.ratio, under ? null : db, cells.number ?? null, cells.volts ?? null, counted, source] };
}

export function distortionRows({ thd, weighted, curvature, distortionAndNoise: { standard, ideal }, crest }: DistortionFigures, { highestOrder, counted, floorDb }: RowWords): Row[] {
  const orders = `orders 2 to ${highestOrder}`;
  const curveSource = 'Geddes, Lee, Auditory perception of nonlinear distortion, 2003 (formula from memory)';
  const ratio = (label: string, value: number, what: string, source: string): Row => figureRow(label, { ratio: value }, what, source, floorDb);
  return [
    ratio('THD, F', thd.f, `${orders}, over the fundamental`, 'IEC 61000-4-7; most data sheets'),
    ratio('THD, R', thd.r, `${orders}, over fundamental and harmonics together`, 'IEC 60268-3, 14.12.3 (from secondary pages)'),
    ratio('THD+N', standard.ratio, `${counted}, behind a notch of Q ${notchQ}, over all, ${bandWords}`, 'AES17-2015, 5.2.8 and 6.3.1 (from secondary pages)'),
    ratio('THD+N, tone alone taken out', ideal.ratio, 'the same without what a notch takes off the low harmonics', practice),
    ratio('weighted by n/2', weighted.halfOrder, `${orders}, each times n/2, over the fundamental`, 'Radio Manufacturers\' Association, 1937 (from secondary pages)'),
    ratio('weighted by n²/4', weighted.orderSquared, `${orders}, each times n²/4, over the fundamental`, 'D. E. L. Shorter, The influence of high-order products in non-linear distortion, 1950'),
    figureRow('curvature, root', curvature === null ? {} : { number: curvature.root }, curvature === null ? 'none: the curve has no slope in its middle' : '√∫cos²(πx/2) T″² dx of the curve T, from orders 2 to 20 in phase, slope 1 in its middle', curveSource),
    figureRow('curvature, square', curvature === null ? {} : { number: curvature.square }, 'the same without the root', curveSource),
    figureRow('crest factor', { number: crest, db: ratioToDecibels(crest) }, 'peak over rms about the mean; a sine has 3.0 dB', practice),
  ];
}

export function crestOf(wave: Float64Array): number {
  const mean = wave.reduce((sum, volts) => sum + volts, 0) / wave.length;
  let [peak, squares] = [0, 0];
  for (const volts of wave) {
    peak = Math.max(peak, Math.abs(volts - mean));
    squares += (volts - mean) * (volts - mean);
  }
  return peak / Math.sqrt(squares / wave.length);
}
