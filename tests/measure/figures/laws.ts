/** Small circuits whose laws are known, the harmonics of a law by quadrature, and what is drawn of them. */
import { factsOf, subjectOfDocument, type AnyFigureView, type Figure, type FigurePanel, type FigureSubject, type FigureTable } from '../../../dsp/measure/figures/index.ts';
import type { StageValues } from '../../../dsp/stages/index.ts';
import { finished } from '../../../ui/command-line/finished.ts';
import { input, parsedOf, referenceTemperatureC, resistor, source } from '../../support/circuits.ts';

/** kT/q at 300 K by the exact constants of the SI. */
export const thermalVolts300 = (1.380649e-23 * (referenceTemperatureC + 273.15)) / 1.602176634e-19;

export const internalRateHz = 384_000;

/** 1 mA · tanh(v/scale) into 1 kΩ: 1 V · tanh(v/scale), no memory. */
export const tanhSubject = (scaleVolts: number): FigureSubject => subjectOfDocument(parsedOf([
  input('in'), { kind: 'tanh-transconductor', name: 'G1', out: ['o', 'ground'], in: ['in', 'ground'], maxAmperes: 1e-3, scaleVolts }, resistor('R1', 'o', 'ground', 1000),
], ['o', 'ground']), internalRateHz);

/** A transistor without losses, its emitter at ground and 1 kΩ at its collector: a current of e^(v/VT). */
export const exponentialSubject = (): FigureSubject => subjectOfDocument(parsedOf([
  input('b', 'ground', 0.65), source('VP', 'vp', 'ground', 10), resistor('RC', 'vp', 'c', 1000),
  { kind: 'bipolar', name: 'Q1', polarity: 'npn', collector: 'c', base: 'b', emitter: 'ground', saturationAmperes: 1e-16, forwardBeta: 1e12, reverseBeta: 1, earlyVolts: null },
], ['c', 'ground'], referenceTemperatureC), internalRateHz);

/** Peaks of harmonics 0 (mean) to `highest` of a law driven by a cosine: the trapezoidal rule, exact to rounding for a smooth periodic function (Trefethen, Weideman, "The exponentially convergent trapezoidal rule", 2014). */
export function harmonicsOfLaw(law: (volts: number) => number, peakVolts: number, highest: number): number[] {
  const count = 4096;
  return Array.from({ length: highest + 1 }, (_, order) => {
    let sum = 0;
    for (let k = 0; k < count; k += 1) sum += law(peakVolts * Math.cos((2 * Math.PI * k) / count)) * Math.cos((2 * Math.PI * order * k) / count);
    return ((order === 0 ? 1 : 2) / count) * sum;
  });
}

export const dbuPeak = (dbu: number): number => Math.sqrt(1.2) * 10 ** (dbu / 20);
export const toDb = (ratio: number): number => 20 * Math.log10(Math.abs(ratio));

export function valuesOf(view: AnyFigureView, values: StageValues = {}): StageValues {
  return { ...Object.fromEntries(view.parameters.map((parameter) => [parameter.id, parameter.default])), ...values };
}

/** Points of every part for so many workers. */
export function pointsOf(view: AnyFigureView, subject: FigureSubject, values: StageValues, workers = 1): unknown[] {
  return view.split(factsOf(subject), values, workers).map((part: unknown) => finished(view.measure(subject, values, part)));
}

export function figureOf(view: AnyFigureView, subject: FigureSubject, values: StageValues = {}, workers = 1): Figure {
  const asked = valuesOf(view, values);
  const refusal = view.refuse(factsOf(subject), asked);
  if (refusal !== null) throw new RangeError(refusal);
  return view.draw(factsOf(subject), asked, pointsOf(view, subject, asked, workers));
}

/** A trace as pairs, gaps left out. */
export function lineOf(panel: FigurePanel, id: string): { readonly x: number; readonly y: number }[] {
  const trace = panel.traces.find((each) => each.id === id);
  if (!trace) throw new Error(`expected a trace ${id}, got ${panel.traces.map((each) => each.id).join(', ')}`);
  if (trace.x.length !== trace.y.length) throw new Error(`${id}: expected as many values as places, got ${trace.y.length} and ${trace.x.length}`);
  return Array.from(trace.x, (x, k) => ({ x, y: trace.y[k]! })).filter(({ y }) => !Number.isNaN(y));
}

/** Cells of a column by its label. */
export function columnOf(table: FigureTable, label: string): (number | string | null)[] {
  const index = table.columns.findIndex((column) => column.label === label);
  if (index < 0) throw new Error(`expected a column ${label}, got ${table.columns.map((column) => column.label).join(', ')}`);
  return table.rows.map(({ cells }) => cells[index] ?? null);
}
