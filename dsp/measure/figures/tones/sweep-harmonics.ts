/** Harmonics by one exponential sweep through the path as it runs, beside those of the steady state: two ways that share nothing but the circuit. */
import { log, log2, power, ratioToDecibels } from '../../../math/index.ts';
import { dbuToPeakVolts, makeParameter, type StageValues } from '../../../stages/index.ts';
import type { SteadyMemory } from '../../steady-path.ts';
import { harmonicAdvanceSeconds, kilohertz, runInTime, sweepResponses, sweepSamples, synchronisedSweep, type ExponentialSweep } from '../../tones/index.ts';
import { figureView, type Figure, type FigureSubject, type FigureTable, type FigureTrace } from '../contract.ts';
import { coherentTone, harmonicsOf, internalRateHz, nothingYet, plannedIndex, refuseScope, scopeWords, steadyTone } from '../tone.ts';
import { column, decibels, signedDbu } from './words.ts';

const orders = [2, 3, 4, 5];
/** Where the steady state is asked for, and the two compared. */
const comparedHz = [200, 500, 1000, 2000, 5000, 10_000];
/** Of the sweep's own readings, eight to an octave: lower down the pieces of so short a sweep are too short. */
const [lowestHz, highestHz] = [160, 16_000];
const perOctave = 8;
/** A fade reaches half an octave in from either end. */
const [fromHz, toHz] = [20, 24_000];
/** Samples of the sweep and of what comes after it; together what one transform takes. */
const [sweepFrames, tailFrames] = [360_448, 131_072];
const mostFrames = 524_288;
const longestSeconds = 4;
const highestRateHz = 384_000;
/** Between the tails of responses nothing is told apart below this. */
const floorDb = -110;
/** Harmonics above this are compared in the caption. */
const comparedDb = -85;

const parameters = [
  makeParameter.level({ id: 'levelDbu', label: 'level', shortLabel: 'level', range: [-60, 30], default: 4, help: 'Of the sweep at the source; of a stage alone, as strong as 1 kHz of that level reaches it.' }),
];

type Part = 'sweep' | 'steady';
interface Points {
  /** By order, at each frequency of `sweptHz`; of the steady state at each of `comparedHz` done so far. dB over the fundamental. */
  readonly db: readonly (readonly number[])[];
  readonly hertz: readonly number[];
}

/** Where the two are compared among them. */
const sweptHz: readonly number[] = [
  ...comparedHz, ...Array.from({ length: Math.floor(perOctave * log2(highestHz / lowestHz)) + 1 }, (_, k) => lowestHz * power(2, k / perOctave)),
].sort((a, b) => a - b);

export const sweepHarmonicsView = figureView<Part, Points>({
  id: 'sweep-harmonics',
  title: 'Harmonics by a sweep',
  help: 'One sweep through the path as it runs, its harmonics told apart by when they arrive: a check on the steady state that shares nothing with it but the circuit.',
  parameters,
  refuse(facts) {
    const rateHz = internalRateHz(facts);
    if (rateHz > highestRateHz) return `Expected an internal rate of at most ${kilohertz(highestRateHz)}, got ${kilohertz(rateHz)}: lower the oversampling.`;
    if (!(rateHz > 2 * toHz)) return `Expected an internal rate above ${kilohertz(2 * toHz)}, got ${kilohertz(rateHz)}: raise the oversampling.`;
    return refuseScope(facts);
  },
  split: () => ['steady', 'sweep'],
  *measure(subject, values, part) {
    return yield* part === 'sweep' ? bySweep(subject, values) : bySteadyState(subject, values);
  },
  draw(facts, values, [steady, swept]): Figure {
    const title = `Harmonics by a sweep, ${signedDbu(values['levelDbu'] as number)}, ${scopeWords(facts)}`;
    const sweep = sweepAt(internalRateHz(facts));
    return {
      title, caption: captionOf(swept, steady, internalRateHz(facts) / 4), panels: [panelOf(tracesOf(swept, steady))], tables: swept === undefined && steady === undefined ? [] : [tableOf(swept, steady)],
      remarks: [
        `A sweep from ${kilohertz(fromHz)} to ${kilohertz(toHz)} in ${sweep.seconds.toFixed(2)} s, run from rest at the internal rate: harmonic n arrives ${sweep.constantSeconds.toFixed(4)} s · ln n before the rest, `
          + `the second ${harmonicAdvanceSeconds(sweep, 2).toFixed(3)} s, the fifth ${harmonicAdvanceSeconds(sweep, 5).toFixed(3)} s (A. Farina 2000; A. Novak, P. Lotton, L. Simon 2015).`,
        `Points are the steady state. A harmonic 40 dB below its neighbours stands on what still rings of them, and nothing is told under ${decibels(floorDb)}; where bias moves with the level the sweep, which never settles, differs.`,
      ],
    };
  },
});

/** The same whatever the rate, as far as one transform goes: at most four seconds. */
function sweepAt(rateHz: number): ExponentialSweep {
  return synchronisedSweep(fromHz, toHz, Math.min(longestSeconds, sweepFrames / rateHz));
}

function* bySteadyState(subject: FigureSubject, values: StageValues): Generator<Points | undefined, Points> {
  const memory: SteadyMemory = new Map();
  const hertz: number[] = [];
  const db: number[][] = orders.map(() => []);
  for (const wanted of comparedHz) {
    const frequency = coherentTone(subject, wanted);
    const { harmonics } = yield* nothingYet(harmonicsOf(subject, { frequency, peakVolts: dbuToPeakVolts(values['levelDbu'] as number) }, orders, { memory }));
    hertz.push(frequency.hz);
    harmonics.forEach((harmonic, k) => db[k]!.push(harmonic.db));
    yield { hertz: [...hertz], db: db.map((each) => [...each]) };
  }
  return { hertz, db };
}

function* bySweep(subject: FigureSubject, values: StageValues): Generator<Points | undefined, Points> {
  const rateHz = internalRateHz(subject);
  const index = plannedIndex(subject);
  let peakVolts = dbuToPeakVolts(values['levelDbu'] as number);
  if (index >= 0) ({ inputPeakVolts: peakVolts } = yield* nothingYet(steadyTone(subject, { frequency: coherentTone(subject, 1000), peakVolts })));
  const plan = index < 0 ? subject.plan : { ...subject.plan, stages: subject.plan.stages.slice(index, index + 1) };
  const sweep = sweepAt(rateHz);
  const samples = sweepSamples(sweep, rateHz);
  const drive = new Float64Array(Math.min(mostFrames, samples.length + tailFrames));
  drive.set(samples.map((x) => peakVolts * x));
  const output = yield* runInTime(plan, drive);
  const found = sweepResponses(output, sweep, rateHz, [1, ...orders], sweptHz);
  if (found.refusal !== undefined) throw new RangeError(found.refusal);
  const [fundamental, ...harmonics] = found.responses;
  return { hertz: sweptHz, db: harmonics.map(({ amplitudes }) => Array.from(amplitudes, (amplitude, k) => ratioToDecibels(amplitude / fundamental!.amplitudes[k]!))) };
}

function panelOf(traces: readonly FigureTrace[]): Figure['panels'][number] {
  return {
    title: 'Harmonics against frequency',
    x: { label: 'frequency of the sweep', unit: 'Hz', scale: 'logarithmic', written: 'prefixed', from: fromHz, to: 20_000 },
    left: { label: 'harmonic', unit: 'dB re fundamental', scale: 'linear', written: 'plain', from: floorDb, to: 0 },
    traces, marks: [],
  };
}

function tracesOf(swept: Points | undefined, steady: Points | undefined): FigureTrace[] {
  const of = (points: Points | undefined, way: Part): FigureTrace[] => (points === undefined ? [] : orders.map((order, k) => ({
    id: `H${order} ${way}`, label: way === 'sweep' ? `H${order}` : `H${order}, steady state`, axis: 'left', role: way === 'sweep' ? 'main' : 'ideal', order,
    drawn: way === 'sweep' ? 'line' : 'points', x: points.hertz, y: points.db[k]!.map((db) => (db > floorDb ? db : NaN)),
  })));
  return [...of(swept, 'sweep'), ...of(steady, 'steady')];
}

/** The sweep's reading at a frequency between its own, linear in dB over the logarithm. */
function sweptAt({ hertz, db }: Points, k: number, hz: number): number {
  const above = hertz.findIndex((each) => each >= hz);
  if (above <= 0) return NaN;
  const share = log(hz / hertz[above - 1]!) / log(hertz[above]! / hertz[above - 1]!);
  return db[k]![above - 1]! + share * (db[k]![above]! - db[k]![above - 1]!);
}

interface Comparison {
  readonly hz: number;
  readonly order: number;
  readonly steadyDb: number | null;
  readonly sweptDb: number | null;
}

function comparisons(swept: Points | undefined, steady: Points | undefined): Comparison[] {
  const shown = (db: number): number | null => (db > floorDb ? db : null);
  return (steady ?? { hertz: [], db: [] }).hertz.flatMap((hz, place) => orders.map((order, k) => ({
    hz, order, steadyDb: shown(steady!.db[k]![place]!), sweptDb: swept === undefined ? null : shown(sweptAt(swept, k, hz)),
  })));
}

function tableOf(swept: Points | undefined, steady: Points | undefined): FigureTable {
  return {
    columns: [column.hertz(), column.text('harmonic'), column.decibels('steady state'), column.decibels('by the sweep'), { label: 'apart', unit: 'dB', written: 'plain', digits: 2 }],
    rows: comparisons(swept, steady).map(({ hz, order, steadyDb, sweptDb }) => ({ cells: [hz, `H${order}`, steadyDb, sweptDb, steadyDb === null || sweptDb === null ? null : sweptDb - steadyDb] })),
  };
}

/** Harmonics above `belowHz`, a quarter of the rate, are left out: the steady state reads them off all steps of the rule, a sweep off its samples. */
function captionOf(swept: Points | undefined, steady: Points | undefined, belowHz: number): string {
  if (swept === undefined && steady === undefined) return 'Nothing measured yet.';
  const both = comparisons(swept, steady).filter((each) => each.steadyDb !== null && each.sweptDb !== null && each.steadyDb > comparedDb && each.order * each.hz <= belowHz);
  if (both.length === 0) return swept === undefined ? 'The steady state is measured, the sweep is on its way.' : `Nothing above ${decibels(comparedDb)} to compare.`;
  const apart = ({ steadyDb, sweptDb }: Comparison): number => Math.abs(sweptDb! - steadyDb!);
  const worst = both.reduce((most, each) => (apart(each) > apart(most) ? each : most));
  return `Sweep and steady state are within ${apart(worst).toFixed(2)} dB of each other wherever a harmonic below ${kilohertz(belowHz)} stands above ${decibels(comparedDb)}, furthest apart at H${worst.order} of ${kilohertz(worst.hz)}.`;
}
