/** A stage's curve as a figure: axes, lines, the words of its marks. Pure. */
import type { Figure, FigureAxis, FigureMark, FigureTrace } from '../../../dsp/measure/figures/index.ts';
import type { LoopSpectrum } from '../../../dsp/measure/index.ts';
import type { CurveMark, CurveTrace, StageCurve } from '../../../dsp/stages/contract.ts';

export const lowestHz = 20;
export const highestHz = 20_000;

/** Decibels of the spectrum's axis from its foot to its top. */
const spectrumRangeDb = 60;

/** The whole is the heaviest line, parts are thin, each with a dash of its own. */
const roles: Readonly<Record<CurveTrace['role'], FigureTrace['role']>> = { whole: 'main', part: 'noise', ideal: 'ideal', difference: 'difference' };

/** Its unit stands at every figure of it. */
const frequency: FigureAxis = { label: '', unit: 'Hz', scale: 'logarithmic', written: 'prefixed', from: lowestHz, to: highestHz };

/** Whole sixes round all lines, at least ±6 dB, at most ±48. */
function gainAxis({ traces }: StageCurve): FigureAxis {
  const all = traces.flatMap(({ db }) => db.filter(Number.isFinite));
  const reach = (db: number): number => Math.min(48, Math.max(6, 6 * Math.ceil((db + 1) / 6)));
  const to = reach(all.reduce((most, db) => Math.max(most, db), 0));
  const from = -reach(-all.reduce((least, db) => Math.min(least, db), 0));
  return { label: 'gain', unit: 'dB', scale: 'linear', written: 'plain', from, to };
}

/** Up to the loudest third octave, rounded up to ten. */
function spectrumAxis({ thirds }: LoopSpectrum): FigureAxis {
  const loudest = thirds.reduce((most, { db }) => Math.max(most, db), -100);
  const to = 10 * Math.ceil(loudest / 10 + 0.05);
  return { label: 'loop', unit: 'dB re full-scale sine', scale: 'linear', written: 'plain', from: to - spectrumRangeDb, to };
}

/** Marks that lie on the axis. */
export const marksInSight = (marks: readonly CurveMark[]): readonly CurveMark[] => marks.filter(({ fromHz, toHz }) => toHz >= lowestHz && fromHz <= highestHz);

/** @param told marks whose words are written */
export function curveFigure(curve: StageCurve, name: string, spectrum: LoopSpectrum | null, told: readonly CurveMark[]): Figure {
  const left = gainAxis(curve);
  // Beyond the axis a line lies on its edge: a notch goes on, it does not break off.
  const within = (db: number): number => Math.min(left.to, Math.max(left.from, db));
  const traces = curve.traces.map(({ label, role, db }, index): FigureTrace => ({ id: `${index} ${label}`, label, axis: 'left', role: roles[role], drawn: 'line', x: curve.hertz, y: db.map(within) }));
  const onAxis = (hz: number): number => Math.min(highestHz, Math.max(lowestHz, hz));
  const marks = told.map(({ fromHz, toHz, db, words }): FigureMark => ({ x: onAxis(fromHz), ...(toHz > fromHz ? { toX: onAxis(toHz) } : {}), y: within(db), words }));
  return {
    title: `curve of the ${name}`, caption: curve.caption, tables: [], remarks: [],
    panels: [{ title: '', x: frequency, left, ...(spectrum ? { right: spectrumAxis(spectrum) } : {}), traces, marks }],
  };
}
