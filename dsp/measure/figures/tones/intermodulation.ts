/** What two tones, or a square wave and a sine, make of each other: one figure a signal, every convention beside its source. */
import type { SolverFigures } from '../../../circuit/index.ts';
import { ratioToDecibels } from '../../../math/index.ts';
import { dbuToPeakVolts, makeParameter, type StageValues } from '../../../stages/index.ts';
import {
  intermodulationSignal, intermodulationSignals, kilohertz, readIntermodulation, signalDrive, signalPeriod, steadyTones,
  type IntermodulationReading, type IntermodulationSignal, type MeasuredProduct,
} from '../../tones/index.ts';
import { figureView, type Figure, type FigureFacts, type FigureMark, type FigureTable, type FigureTrace } from '../contract.ts';
import { internalRateHz, oscillation, scopeWords } from '../tone.ts';
import { finerPlan } from './finer-plan.ts';
import { column, decibels, ratioWords, signedDbu, whyNoTones } from './words.ts';

/** Below this, over the reference, a line is rounding and what a solve leaves. */
const floorDb = -150;
/** Products above are not looked for: five times what is audible. */
const highestHz = 100_000;
/** Of the table; the plot goes on to the ninth. */
const tabledOrder = 5;

/** Of the internal rate, where DIM is asked for in finer steps: 3.07 MHz of 384 kHz. */
const finerTimes = 8;

const parameters = [
  makeParameter.choice({
    id: 'signal', label: 'signal', shortLabel: 'signal', help: 'Which tones are sent through, and by which standard what they make is counted.',
    options: intermodulationSignals.map(({ id, title }) => [id, title] as const), default: 'smpte-60-7000',
  }),
  makeParameter.level({
    id: 'levelDbu', label: 'level', shortLabel: 'level', range: [-60, 30], default: 4,
    help: 'At the source: the level of a sine with the same peak as both tones together.',
  }),
  makeParameter.choice({
    id: 'steps', label: 'steps for DIM', shortLabel: 'steps', default: 'internal',
    help: 'What slews does so within microseconds of an edge: in finer steps the square wave of DIM has its edges, and takes seconds. Other signals are measured at the internal rate.',
    options: [['internal', 'as it plays'], ['finer', `${finerTimes} times finer`]],
  }),
];

interface Points {
  readonly reading: IntermodulationReading;
  /** Odd harmonics of a square wave as they come out, its fundamental first. */
  readonly square: readonly { readonly hz: number; readonly peakVolts: number }[];
  readonly solver: SolverFigures;
}

export const intermodulationView = figureView<null, Points>({
  id: 'intermodulation',
  title: 'Intermodulation',
  help: 'What tones make of each other: the products, where they fall, and the figure of each standard with its convention.',
  parameters,
  refuse: (facts, values) => whyNoTones(facts, Math.max(...signalOf(values).hertz)),
  split: () => [null],
  *measure(subject, values) {
    const signal = signalOf(values);
    const finer = inFinerSteps(signal, values);
    const rateHz = internalRateHz(subject) * (finer ? finerTimes : 1);
    const period = signalPeriod(signal, rateHz);
    const drive = signalDrive(signal, period, rateHz, dbuToPeakVolts(values['levelDbu'] as number));
    const run = yield* steadyTones(finer ? finerPlan(subject, finerTimes) : subject.plan, drive, subject.scope);
    if (run.oscillates) throw oscillation(subject, run.oscillates);
    const hertz = period.hertz as [number, number];
    const reading = readIntermodulation(run.lines, signal, hertz, { belowHz: Math.min(highestHz, rateHz / 2) });
    if (reading.refusal !== undefined) throw new RangeError(reading.refusal);
    const odd = signal.method === 'dynamic' ? oddHarmonics(hertz[0], Math.min(highestHz, rateHz / 2)) : [];
    const peaks = run.lines.at(odd).amplitudes;
    return { reading, square: odd.map((hz, k) => ({ hz, peakVolts: peaks[k]! })), solver: run.solver };
  },
  draw(facts, values, [points]): Figure {
    const signal = signalOf(values);
    const level = signedDbu(values['levelDbu'] as number);
    const title = `Intermodulation, ${signal.title}, ${level}, ${scopeWords(facts)}`;
    if (points === undefined) return { title, caption: 'Nothing measured yet.', panels: [panelOf([], [])], tables: [], remarks: [] };
    return intermodulationFigure({ ...points, title, of: capital(`${signal.title} at ${level}, ${scopeWords(facts)}`), remarks: remarksOf(signal, facts, points, internalRateHz(facts) * (inFinerSteps(signal, values) ? finerTimes : 1)) });
  },
});

export interface IntermodulationParts {
  readonly title: string;
  /** What the caption begins with. */
  readonly of: string;
  readonly reading: IntermodulationReading;
  readonly square: Points['square'];
  readonly remarks: readonly string[];
}

/** The figure of a reading, whatever it was read off. */
export function intermodulationFigure({ title, of, reading, square, remarks }: IntermodulationParts): Figure {
  return { title, caption: captionOf(of, reading), panels: [panelOf(tracesOf(reading, square), marksOf(reading))], tables: tablesOf(reading), remarks };
}

function signalOf(values: StageValues): IntermodulationSignal {
  return intermodulationSignal(values['signal'] as string);
}

function inFinerSteps({ method }: IntermodulationSignal, values: StageValues): boolean {
  return method === 'dynamic' && values['steps'] === 'finer';
}

function oddHarmonics(hz: number, belowHz: number): number[] {
  const found: number[] = [];
  for (let k = 1; k * hz < belowHz; k += 2) found.push(k * hz);
  return found;
}

function panelOf(traces: readonly FigureTrace[], marks: readonly FigureMark[]): Figure['panels'][number] {
  return {
    title: 'Tones and products at the output',
    x: { label: 'frequency', unit: 'Hz', scale: 'logarithmic', written: 'prefixed', from: 20, to: highestHz },
    left: { label: 'level', unit: 'dB re reference', scale: 'linear', written: 'plain', from: floorDb, to: 20 },
    traces, marks,
  };
}

function tracesOf(reading: IntermodulationReading, square: Points['square']): FigureTrace[] {
  const over = (peakVolts: number): number => aboveFloor(ratioToDecibels(peakVolts / reading.referenceVolts));
  const uprights = (id: string, label: string, role: FigureTrace['role'], lines: readonly { hz: number; db: number }[]): FigureTrace => ({
    id, label, axis: 'left', role, drawn: 'uprights', x: lines.map(({ hz }) => hz), y: lines.map(({ db }) => aboveFloor(db)),
  });
  const of = (belongs: (product: MeasuredProduct) => boolean): readonly MeasuredProduct[] => reading.products.filter(belongs);
  const tones = [...reading.tones, ...square.slice(1)].map(({ hz, peakVolts }) => ({ hz, db: over(peakVolts) })).sort((a, b) => a.hz - b.hz);
  const byHz = (products: readonly MeasuredProduct[]): readonly MeasuredProduct[] => [...products].sort((a, b) => a.hz - b.hz);
  return [
    uprights('tones', 'tones', 'main', tones),
    uprights('products', 'products', 'second', byHz(of(({ kind, belowTones }) => kind === 'intermodulation' && !belowTones))),
    uprights('below', 'below the music', 'third', byHz(of(({ belowTones }) => belowTones))),
    uprights('harmonics', 'harmonics', 'ideal', byHz(of(({ kind }) => kind === 'harmonic'))),
  ].filter(({ x }) => x.length > 0);
}

function marksOf(reading: IntermodulationReading): FigureMark[] {
  const lowest = Math.min(...reading.tones.map(({ hz }) => hz));
  const strongest = strongestBelow(reading);
  return [
    ...(strongest ? [{ x: 20, toX: lowest, words: `below ${kilohertz(lowest)}` }] : []),
    ...(strongest && strongest.db > floorDb ? [{ x: strongest.hz, y: strongest.db, words: `${strongest.words}, ${kilohertz(strongest.hz)}` }] : []),
  ];
}

/** Of those an octave or more below the lowest tone: nearer to it the tones cover them. */
function strongestBelow({ products, tones }: IntermodulationReading): MeasuredProduct | undefined {
  const lowest = Math.min(...tones.map(({ hz }) => hz));
  return products.filter(({ hz }) => hz <= lowest / 2).sort((a, b) => b.db - a.db)[0];
}

function captionOf(of: string, reading: IntermodulationReading): string {
  const figures = reading.figures.slice(0, 3).map(({ label, ratio, db }) => `${label} ${ratioWords(ratio, db, floorDb)}`).join('; ');
  const below = strongestBelow(reading);
  const under = below === undefined ? '' : below.db > floorDb ? `; strongest an octave or more below the tones: ${below.words} at ${kilohertz(below.hz)}, ${decibels(below.db)}` : `; nothing above ${decibels(floorDb)} an octave or more below the tones`;
  return `${of}: ${figures}${under}.`;
}

function tablesOf({ figures, products, referenceWords }: IntermodulationReading): FigureTable[] {
  const rowOf = ({ words, hz, order, db, peakVolts, kind }: MeasuredProduct): FigureTable['rows'][number] =>
    ({ cells: [words, hz, order, shown(db), db > floorDb ? peakVolts : null, kind === 'harmonic' ? 'harmonic of a tone' : 'product'] });
  const columns = (name: string): FigureTable['columns'] =>
    [column.text(name), column.hertz(), column.count('order'), column.decibels(`over ${referenceWords}`), column.volts('peak'), column.text('kind')];
  const below = products.filter(({ belowTones, db }) => belowTones && db > floorDb).sort((a, b) => a.hz - b.hz);
  return [
    {
      columns: [column.text('figure'), column.percent('ratio'), column.decibels('level'), column.text('what is counted, over what'), column.text('source')],
      rows: figures.map(({ label, ratio, db, convention, source }) => ({ cells: [label, db > floorDb ? 100 * ratio : null, shown(db), convention, source] })),
    },
    { columns: columns('product'), rows: products.filter(({ order }) => order <= tabledOrder).map(rowOf) },
    ...(below.length === 0 ? [] : [{ columns: columns('product below the lowest tone'), rows: below.map(rowOf) }]),
  ];
}

function remarksOf(signal: IntermodulationSignal, facts: FigureFacts, { reading, solver }: Points, rateHz: number): string[] {
  const moved = reading.tones.some(({ hz }, k) => hz !== signal.hertz[k]);
  return [
    signal.method === 'dynamic'
      ? `The level is that of a sine with the peak of square wave (before its pole) and sine together; the square wave has its harmonics up to ${kilohertz(rateHz / 2)}, and what its edges do beyond is not seen: finer steps show more of what slews.`
      : 'The level is that of a sine with the peak of both tones together.',
    `Decibels of products are over ${reading.referenceWords} as it comes out; under ${decibels(floorDb)} nothing is shown.${signal.method === 'dynamic' ? '' : ' The plot has orders up to the ninth, the table up to the fifth.'}`,
    'Difference tones that fall below the music stand apart: masking spreads upwards, so that they are heard sooner than products among or above the tones (H. Fastl, E. Zwicker, Psychoacoustics, chapter 14; from its abstract).',
    solver.method === 'settling'
      ? 'No periodic solution was found: waited until the harmonics of the lowest tone moved by less than 0.001 dB in ten periods.'
      : `Periodic steady state over a common period of both tones, rule ${solver.rule}.`,
    ...(moved ? [`No period of 65,536 samples holds these tones exactly at ${kilohertz(rateHz)}: measured at ${reading.tones.map(({ hz }) => `${hz.toFixed(3)} Hz`).join(' and ')}.`] : []),
    ...(facts.path === null || facts.scope.kind === 'path' ? [] : ['Of one stage: driven with the tones as strong as they reach it, without what the stages before add.']),
  ];
}

function capital(words: string): string {
  return words.slice(0, 1).toUpperCase() + words.slice(1);
}

function aboveFloor(db: number): number {
  return db > floorDb ? db : NaN;
}

function shown(db: number): number | null {
  return db > floorDb ? db : null;
}
