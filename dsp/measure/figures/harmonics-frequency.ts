/** Harmonics against frequency: what each order does from the lowest note to the highest at one level. */
import { power, ratioToDecibels } from '../../math/index.ts';
import { dbuToPeakVolts, lineLevelDbu, makeParameter, peakVoltsToDbu, type StageValues } from '../../stages/index.ts';
import { floorDb } from '../measure-path.ts';
import { figureView, type Figure, type FigureAxis, type FigureFacts, type FigureSubject, type FigureTable, type FigureTrace } from './contract.ts';
import { amountAxis, isGap, type SweptHarmonics } from './harmonic-sweep.ts';
import { inShares, outlineFirst } from './sweep-order.ts';
import { harmonicsOf, internalRateHz, NoSteadyState, refuseScope, scopeWords, sweepTone } from './tone.ts';
import { column, decibels, hertz, percent, signedDbu } from './words.ts';

/** One of so many points has its spectral radius looked at; growth at rest is looked at everywhere. */
const radiusEvery = 10;
/** Where the gain is 0 dB, and one of the frequencies, if it lies in the range. */
const referenceHz = 1000;

interface FrequencyPoint extends SweptHarmonics {
  readonly index: number;
  /** The frequency in fact used. */
  readonly hz: number;
  readonly outputDbu: number;
}

interface LostFrequency {
  readonly index: number;
  readonly hz: number;
  readonly refusal: string;
}

type Points = readonly (FrequencyPoint | LostFrequency)[];

interface Part {
  readonly indices: readonly number[];
}

interface Asked {
  readonly levelDbu: number;
  readonly fromHz: number;
  readonly toHz: number;
  readonly orders: readonly number[];
  /** Ascending: ends, and steps of an octave's share up and down from 1 kHz between them. */
  readonly frequenciesHz: readonly number[];
}

function asked(values: StageValues): Asked {
  const number = (id: string): number => Number(values[id]);
  const fromHz = number('fromHz');
  const toHz = number('toHz');
  const perOctave = Math.round(number('pointsPerOctave'));
  const orders = Array.from({ length: Math.round(number('highestOrder')) - 1 }, (_, k) => k + 2);
  return { levelDbu: number('levelDbu'), fromHz, toHz, orders, frequenciesHz: frequenciesBetween(fromHz, toHz, perOctave) };
}

function frequenciesBetween(fromHz: number, toHz: number, perOctave: number): number[] {
  const step = (k: number): number => referenceHz * power(2, k / perOctave);
  // Nearer to an end than half a step it would say the same twice.
  const clear = power(2, 0.5 / perOctave);
  const frequencies = [fromHz];
  let k = 0;
  while (step(k) > fromHz * clear) k -= 1;
  for (k += 1; step(k) < toHz / clear; k += 1) if (step(k) > fromHz * clear) frequencies.push(step(k));
  frequencies.push(toHz);
  return frequencies;
}

export const harmonicsAgainstFrequency = figureView<Part, Points>({
  id: 'harmonics-frequency',
  title: 'Harmonics against frequency',
  help: 'What each harmonic does from the lowest note to the highest: cores and coupling capacitors at the bottom, loops that run out of gain at the top.',
  parameters: [
    makeParameter.level({ id: 'levelDbu', label: 'level', shortLabel: 'level', range: [-80, 40], default: lineLevelDbu, help: 'Of the tone at the source.' }),
    makeParameter.frequency({ id: 'fromHz', label: 'lowest frequency', shortLabel: 'from', range: [10, 20_000], default: 20, help: 'Where the sweep begins.' }),
    makeParameter.frequency({ id: 'toHz', label: 'highest frequency', shortLabel: 'to', range: [20, 40_000], default: 20_000, help: 'Where the sweep ends.' }),
    makeParameter.ratio({ id: 'pointsPerOctave', label: 'points an octave', shortLabel: 'per octave', range: [1, 24], default: 6, help: 'How densely it is measured.' }, 1, 'linear'),
    makeParameter.ratio({ id: 'highestOrder', label: 'highest harmonic', shortLabel: 'harmonics', range: [2, 20], default: 10, help: 'Orders from 2 to this one are drawn and summed into THD.' }, 1, 'linear'),
  ],
  refuse: (facts, values) => {
    const { fromHz, toHz } = asked(values);
    if (!(fromHz < toHz)) return `Frequencies: expected a highest above the lowest, got ${hertz(fromHz)} to ${hertz(toHz)}.`;
    const limitHz = internalRateHz(facts) / 2;
    if (!(toHz < limitHz)) return `Frequencies: expected them under half the internal rate (${hertz(limitHz)}), got ${hertz(toHz)}: raise the oversampling.`;
    return refuseScope(facts);
  },
  split: (_facts, values, workers) => {
    const { frequenciesHz } = asked(values);
    // High notes first: a period of 20 Hz takes as long as 50 of 1 kHz, and all the others would wait for it.
    const order = outlineFirst(frequenciesHz.length);
    const outline = order.slice(0, outlineLength(frequenciesHz.length));
    const sequence = [...outline.sort((a, b) => b - a), ...order.slice(outline.length)];
    return inShares(sequence, workers, (index) => 1 + referenceHz / frequenciesHz[index]!).map((indices) => ({ indices }));
  },
  measure: measureFrequencies,
  draw,
});

/** How many of `outlineFirst` are its outline. */
const outlineLength = (count: number): number => Math.ceil(count / 16) + 1;

/** Each frequency from rest: its bits depend on no other. Orders from half the internal rate on are left out. */
function* measureFrequencies(subject: FigureSubject, values: StageValues, { indices }: Part): Generator<Points | undefined, Points> {
  const wish = asked(values);
  const rateHz = internalRateHz(subject);
  const peakVolts = dbuToPeakVolts(wish.levelDbu);
  const points: (FrequencyPoint | LostFrequency)[] = [];
  let lost: NoSteadyState | null = null;
  for (const index of indices) {
    const frequency = sweepTone(rateHz, wish.frequenciesHz[index]!);
    const { hz } = frequency;
    const orders = wish.orders.filter((order) => order * hz < rateHz / 2);
    try {
      const wantSpectralRadius = index % radiusEvery === 0 || index === wish.frequenciesHz.length - 1;
      const found = yield* harmonicsOf(subject, { frequency, peakVolts }, orders, { wantSpectralRadius });
      points.push({ index, hz, outputDbu: peakVoltsToDbu(found.fundamental.peakVolts), db: wish.orders.map((_, k) => found.harmonics[k]?.db ?? NaN), thd: orders.length === 0 ? NaN : found.thd.f });
    } catch (error) {
      if (!(error instanceof NoSteadyState) || error.atRest) throw error;
      lost = error;
      points.push({ index, hz, refusal: error.message });
    }
    yield [...points];
  }
  if (lost !== null && points.every((point) => 'refusal' in point)) throw lost;
  return points;
}

function draw(facts: FigureFacts, values: StageValues, points: readonly (Points | undefined)[]): Figure {
  const wish = asked(values);
  const come = points.flatMap((part) => part ?? []).sort((a, b) => a.index - b.index);
  const found = come.filter((point): point is FrequencyPoint => !('refusal' in point));
  const lost = come.filter((point): point is LostFrequency => 'refusal' in point);
  const x = come.map(({ hz }) => hz);
  const across = (value: (point: FrequencyPoint) => number): number[] => come.map((point) => ('refusal' in point ? NaN : value(point)));
  const frequency: FigureAxis = { label: 'frequency', unit: 'Hz', scale: 'logarithmic', written: 'prefixed', from: wish.fromHz, to: wish.toHz };
  const traces: FigureTrace[] = [
    { id: 'THD', label: 'THD', axis: 'left', role: 'main', drawn: 'line', x, y: across(({ thd }) => shown(ratioToDecibels(thd))) },
    ...wish.orders.map((order, k): FigureTrace => ({ id: `H${order}`, label: `H${order}`, axis: 'left', role: 'second', order, drawn: 'line', x, y: across(({ db }) => shown(db[k]!)) })),
  ];
  const output = across(({ outputDbu }) => outputDbu);
  const levels = output.filter((dbu) => Number.isFinite(dbu));
  const highest = Math.max(wish.levelDbu, ...levels);
  const lowest = Math.max(highest - 60, Math.min(wish.levelDbu, ...levels));
  return {
    title: `Harmonics against frequency, ${scopeWords(facts)}, ${signedDbu(wish.levelDbu)}`,
    caption: caption(wish, found, lost.length),
    panels: [
      { title: 'Harmonics re fundamental', x: frequency, left: amountAxis(traces), traces, marks: [] },
      {
        title: 'Fundamental at the output', x: frequency, marks: [],
        left: { label: 'fundamental', unit: 'dBu', scale: 'linear', written: 'plain', from: 3 * Math.floor((lowest - 1) / 3), to: 3 * Math.ceil((highest + 1) / 3) },
        traces: [{ id: 'fundamental', label: 'fundamental', axis: 'left', role: 'main', drawn: 'line', x, y: output }],
      },
    ],
    tables: found.length === 0 ? [] : [frequencyTable(wish, found)],
    remarks: [
      `THD: root sum of squares of orders 2 to ${wish.orders.at(-1)!} over the fundamental (F); orders from half the internal rate (${hertz(internalRateHz(facts) / 2)}) on are left out of it and not drawn.`,
      `Each frequency is within 0.1 % of where it was asked for. What lies under ${decibels(floorDb)} is rounding and is not drawn.`,
      ...(lost.length === 0 ? [] : [`${lost.length === 1 ? 'One frequency has' : `${lost.length} frequencies have`} no steady state, the first ${hertz(lost[0]!.hz)}: ${lost[0]!.refusal}`]),
    ],
  };
}

const shown = (db: number): number => (db >= floorDb ? db : NaN);

function caption({ orders, frequenciesHz }: Asked, found: readonly FrequencyPoint[], lost: number): string {
  const heard = found.filter(({ thd }) => Number.isFinite(thd));
  const low = heard[0];
  if (low === undefined) return lost === 0 ? '' : 'No frequency has a steady state.';
  const high = heard.at(-1)!;
  const middle = heard.reduce((best, point) => (Math.abs(ratioToDecibels(point.hz / referenceHz)) < Math.abs(ratioToDecibels(best.hz / referenceHz)) ? point : best));
  const most = heard.reduce((best, point) => (point.thd > best.thd ? point : best));
  const strongest = most.db.reduce((best, db, k) => (db > most.db[best]! || Number.isNaN(most.db[best]!) ? k : best), 0);
  const places = [low, ...(middle === low || middle === high ? [] : [middle]), ...(high === low ? [] : [high])].map(({ hz, thd }) => `${percent(thd)} at ${hertz(hz)}`);
  const missing = frequenciesHz.length - found.length - lost;
  const sofar = missing === 0 ? '' : ` (${found.length} of ${frequenciesHz.length} frequencies so far)`;
  const listed = places.length > 1 ? `${places.slice(0, -1).join(', ')} and ${places.at(-1)!}` : places[0]!;
  const peak = isGap(most.db[strongest]!) ? '' : `; it is highest at ${hertz(most.hz)}, ${percent(most.thd)}, mostly H${orders[strongest]!} at ${decibels(most.db[strongest]!)}`;
  return `THD is ${listed}${peak}${sofar}.`;
}

function frequencyTable({ orders }: Asked, found: readonly FrequencyPoint[]): FigureTable {
  return {
    columns: [
      column.hertz('frequency'), { label: 'output', unit: 'dBu', written: 'plain', digits: 2 }, { label: 'THD', unit: '%', written: 'plain', digits: 6 }, ...orders.map((order) => column.decibels(`H${order}`)),
    ],
    rows: found.map(({ hz, outputDbu, thd, db }) => ({ cells: [hz, outputDbu, Number.isFinite(thd) ? 100 * thd : null, ...db.map((each) => (isGap(each) ? null : each))] })),
  };
}
