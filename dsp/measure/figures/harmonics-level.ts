/** Harmonics against level: what each order does from a whisper to far beyond the rails. */
import { ratioToDecibels } from '../../math/index.ts';
import { dbuToPeakVolts, lineLevelDbu, makeParameter, peakVoltsToDbu, type StageValues } from '../../stages/index.ts';
import { floorDb } from '../measure-path.ts';
import { figureView, type Figure, type FigureAxis, type FigureFacts, type FigureMark, type FigureSubject, type FigureTable, type FigureTrace } from './contract.ts';
import { amountAxis, crossings, isGap, slopeOf, type SweptHarmonics } from './harmonic-sweep.ts';
import { inShares, outlineFirst } from './sweep-order.ts';
import { coherentTone, harmonicsOf, internalRateHz, NoSteadyState, refuseFrequency, refuseScope, scopeWords } from './tone.ts';
import { column, decibels, hertz, percent, signed, signedDbu } from './words.ts';

/** One of so many levels has its spectral radius looked at; growth at rest is looked at everywhere. */
const radiusEvery = 10;
/** Distortion that counts as clipping. */
const clipRatio = 0.01;

interface LevelPoint extends SweptHarmonics {
  readonly index: number;
  readonly sourceDbu: number;
  readonly outputDbu: number;
}

/** A level without a steady state, and why. */
interface LostLevel {
  readonly index: number;
  readonly sourceDbu: number;
  readonly refusal: string;
}

type Points = readonly (LevelPoint | LostLevel)[];

interface Part {
  readonly indices: readonly number[];
}

interface Asked {
  readonly frequencyHz: number;
  readonly fromDbu: number;
  readonly toDbu: number;
  readonly count: number;
  readonly orders: readonly number[];
}

function asked(values: StageValues, facts: FigureFacts): Asked {
  const number = (id: string): number => Number(values[id]);
  const frequencyHz = number('frequencyHz');
  const wanted = Array.from({ length: Math.round(number('highestOrder')) - 1 }, (_, k) => k + 2);
  return {
    frequencyHz, fromDbu: number('fromDbu'), toDbu: number('toDbu'), count: Math.round(number('levels')),
    orders: wanted.filter((order) => order * frequencyHz < internalRateHz(facts) / 2),
  };
}

const levelAt = ({ fromDbu, toDbu, count }: Asked, index: number): number => fromDbu + ((toDbu - fromDbu) * index) / (count - 1);

export const harmonicsAgainstLevel = figureView<Part, Points>({
  id: 'harmonics-level',
  title: 'Harmonics against level',
  help: 'What each harmonic does from a whisper to beyond the rails: where it appears, how steeply it rises, where distortion reaches 1 %.',
  parameters: [
    makeParameter.frequency({ id: 'frequencyHz', label: 'frequency', shortLabel: 'frequency', range: [20, 20_000], default: 1000, help: 'Of the tone at the source.' }),
    makeParameter.level({ id: 'fromDbu', label: 'lowest level', shortLabel: 'from', range: [-80, 40], default: -60, help: 'Level at the source where the sweep begins.' }),
    makeParameter.level({ id: 'toDbu', label: 'highest level', shortLabel: 'to', range: [-80, 40], default: 30, help: 'Level at the source where the sweep ends.' }),
    makeParameter.ratio({ id: 'levels', label: 'number of levels', shortLabel: 'levels', range: [2, 241], default: 61, help: 'How many levels are measured, ends included.' }, 1, 'linear'),
    makeParameter.ratio({ id: 'highestOrder', label: 'highest harmonic', shortLabel: 'harmonics', range: [2, 20], default: 10, help: 'Orders from 2 to this one are drawn and summed into THD.' }, 1, 'linear'),
  ],
  refuse: (facts, values) => {
    const { fromDbu, toDbu, frequencyHz, orders } = asked(values, facts);
    if (!(fromDbu < toDbu)) return `Levels: expected a highest above the lowest, got ${signedDbu(fromDbu)} to ${signedDbu(toDbu)}.`;
    if (orders.length === 0) return `frequency: expected twice of it to be under half the internal rate (${hertz(internalRateHz(facts) / 2)}), got ${hertz(frequencyHz)}`;
    return refuseFrequency(facts, frequencyHz) ?? refuseScope(facts);
  },
  split: (facts, values, workers) => inShares(outlineFirst(asked(values, facts).count), workers).map((indices) => ({ indices })),
  measure: measureLevels,
  draw,
});

/** Each level from rest: its bits depend on no other, and it costs no more than beginning at a neighbour. */
function* measureLevels(subject: FigureSubject, values: StageValues, { indices }: Part): Generator<Points | undefined, Points> {
  const wish = asked(values, subject);
  const frequency = coherentTone(subject, wish.frequencyHz);
  const points: (LevelPoint | LostLevel)[] = [];
  let lost: NoSteadyState | null = null;
  for (const index of indices) {
    const sourceDbu = levelAt(wish, index);
    try {
      const wantSpectralRadius = index % radiusEvery === 0 || index === wish.count - 1;
      const found = yield* harmonicsOf(subject, { frequency, peakVolts: dbuToPeakVolts(sourceDbu) }, wish.orders, { wantSpectralRadius });
      points.push({ index, sourceDbu, outputDbu: peakVoltsToDbu(found.fundamental.peakVolts), db: found.harmonics.map(({ db }) => db), thd: found.thd.f });
    } catch (error) {
      if (!(error instanceof NoSteadyState) || error.atRest) throw error;
      lost = error;
      points.push({ index, sourceDbu, refusal: error.message });
    }
    yield [...points];
  }
  if (lost !== null && points.every((point) => 'refusal' in point)) throw lost;
  return points;
}

function draw(facts: FigureFacts, values: StageValues, points: readonly (Points | undefined)[]): Figure {
  const wish = asked(values, facts);
  const come = points.flatMap((part) => part ?? []).sort((a, b) => a.index - b.index);
  const found = come.filter((point): point is LevelPoint => !('refusal' in point));
  const lost = come.filter((point): point is LostLevel => 'refusal' in point);
  const x = come.map(({ sourceDbu }) => sourceDbu);
  const across = (value: (point: LevelPoint) => number): number[] => come.map((point) => ('refusal' in point ? NaN : value(point)));
  const smallGainDb = found[0] === undefined ? 0 : found[0].outputDbu - found[0].sourceDbu;
  const gainChange = across(({ outputDbu, sourceDbu }) => outputDbu - sourceDbu - smallGainDb);
  const level: FigureAxis = { label: 'level at the source', unit: 'dBu', scale: 'linear', written: 'plain', from: wish.fromDbu, to: wish.toDbu };
  const traces: FigureTrace[] = [
    { id: 'THD', label: 'THD', axis: 'left', role: 'main', drawn: 'line', x, y: across(({ thd }) => shown(ratioToDecibels(thd))) },
    ...wish.orders.map((order, k): FigureTrace => ({ id: `H${order}`, label: `H${order}`, axis: 'left', role: 'second', order, drawn: 'line', x, y: across(({ db }) => shown(db[k]!)) })),
  ];
  const reaches = crossings(found.map(({ sourceDbu, thd }) => ({ x: sourceDbu, y: ratioToDecibels(thd) })), ratioToDecibels(clipRatio));
  const marks: FigureMark[] = reaches.map(({ x: at, upwards }) => ({ x: at, words: upwards ? `THD reaches 1 % at ${signedDbu(at)}` : `THD falls under 1 % at ${signedDbu(at)}` }));
  return {
    title: `Harmonics against level, ${scopeWords(facts)}, ${hertz(coherentToneHz(facts, wish.frequencyHz))}`,
    caption: caption(wish, found, lost.length, reaches),
    panels: [
      { title: 'Harmonics re fundamental', x: level, left: amountAxis(traces), traces, marks, share: 2.5 },
      {
        title: 'Gain of the fundamental, re its gain at the lowest level', x: level, left: gainAxis(gainChange), marks: [],
        traces: [{ id: 'gain', label: 'gain change', axis: 'left', role: 'main', drawn: 'line', x, y: gainChange }],
      },
    ],
    tables: found.length === 0 ? [] : [levelTable(wish, found, smallGainDb), slopeTable(wish, found)],
    remarks: [
      `THD: root sum of squares of orders 2 to ${wish.orders.at(-1) ?? 2} over the fundamental (F).`,
      `What lies under ${decibels(floorDb)} is rounding and is not drawn.`,
      ...(lost.length === 0 ? [] : [`${lost.length === 1 ? 'One level has' : `${lost.length} levels have`} no steady state, the first at ${signedDbu(lost[0]!.sourceDbu)}: ${lost[0]!.refusal}`]),
      ...(wish.orders.length === Math.round(Number(values['highestOrder'])) - 1 ? [] : [`Orders from ${wish.orders.length + 2} on lie above half the internal rate and are left out.`]),
    ],
  };
}

const shown = (db: number): number => (db >= floorDb ? db : NaN);
const coherentToneHz = (facts: FigureFacts, frequencyHz: number): number => coherentTone(facts, frequencyHz).hz;

/** At least from −3 to +1 dB, in whole steps of 3 dB downwards. */
function gainAxis(changes: readonly number[]): FigureAxis {
  const least = changes.reduce((low, db) => (db < low ? db : low), -3);
  const most = changes.reduce((high, db) => (db > high ? db : high), 1);
  return { label: 'gain change', unit: 'dB', scale: 'linear', written: 'plain', from: Math.max(-60, 3 * Math.floor(least / 3)), to: Math.min(60, Math.ceil(most)) };
}

function nearest(found: readonly LevelPoint[], dbu: number): LevelPoint | undefined {
  return found.reduce<LevelPoint | undefined>((best, point) => (best === undefined || Math.abs(point.sourceDbu - dbu) < Math.abs(best.sourceDbu - dbu) ? point : best), undefined);
}

function caption(wish: Asked, found: readonly LevelPoint[], lost: number, reaches: readonly { readonly x: number; readonly upwards: boolean }[]): string {
  const at = nearest(found, lineLevelDbu);
  if (at === undefined) return lost === 0 ? '' : 'No level has a steady state.';
  const last = found.at(-1)!;
  const orderWords = at.db.slice(0, 2).map((db, k) => `H${wish.orders[k]!} is ${isGap(db) ? `under ${decibels(floorDb)}` : `at ${decibels(db)}`}`).join(', ');
  const up = reaches.find(({ upwards }) => upwards);
  const clip = up ? `THD first reaches 1 % at ${signedDbu(up.x)}` : found[0]!.thd >= clipRatio ? 'THD is above 1 % from the lowest level on' : 'THD stays under 1 %';
  const quiet = fallingOrders(wish, found, at);
  const falls = quiet.length === 0 ? '' : `; ${quiet.join(', ')} ${quiet.length === 1 ? 'is' : 'are'} stronger at lower levels, as of a crossover`;
  const missing = wish.count - found.length - lost;
  const sofar = missing === 0 ? '' : ` (${found.length} of ${wish.count} levels so far)`;
  return `At ${signedDbu(at.sourceDbu)} ${orderWords} and THD is ${percent(at.thd)}; ${clip} and is ${percent(last.thd)} at ${signedDbu(last.sourceDbu)}${falls}${sofar}.`;
}

/** Odd orders that stand higher at a lower level than at that of the caption. */
function fallingOrders({ orders }: Asked, found: readonly LevelPoint[], at: LevelPoint): string[] {
  return orders.flatMap((order, k) => {
    if (order % 2 === 0 || order > 7 || isGap(at.db[k]!)) return [];
    const highest = found.filter(({ sourceDbu }) => sourceDbu < at.sourceDbu).reduce((most, { db }) => Math.max(most, db[k]!), -Infinity);
    return highest > at.db[k]! + 3 ? [`H${order}`] : [];
  });
}

function levelTable({ orders }: Asked, found: readonly LevelPoint[], smallGainDb: number): FigureTable {
  return {
    columns: [
      { label: 'source', unit: 'dBu', written: 'plain', digits: 1 }, { label: 'output', unit: 'dBu', written: 'plain', digits: 2 }, { label: 'gain change', unit: 'dB', written: 'plain', digits: 2 },
      { label: 'THD', unit: '%', written: 'plain', digits: 6 }, ...orders.map((order) => column.decibels(`H${order}`)),
    ],
    rows: found.map(({ sourceDbu, outputDbu, thd, db }) => ({
      cells: [sourceDbu, outputDbu, outputDbu - sourceDbu - smallGainDb, 100 * thd, ...db.map((each) => (isGap(each) ? null : each))],
    })),
  };
}

/** Where each harmonic comes out of the floor, and how steeply it rises. */
function slopeTable({ orders }: Asked, found: readonly LevelPoint[]): FigureTable {
  return {
    columns: [
      column.text('harmonic'), { label: 'above the floor from', unit: 'dBu', written: 'plain', digits: 1 }, { label: `slope at ${signed(lineLevelDbu, 0)} dBu`, unit: 'dB/dB', written: 'plain', digits: 2 },
      { label: 'steepest', unit: 'dB/dB', written: 'plain', digits: 1 }, { label: 'at', unit: 'dBu', written: 'plain', digits: 1 },
    ],
    rows: orders.map((order, k) => {
      const line = found.flatMap(({ sourceDbu, db }) => (isGap(db[k]!) ? [] : [{ x: sourceDbu, y: db[k]! }]));
      const slopes = line.slice(1).map((point, j) => ({ x: (point.x + line[j]!.x) / 2, slope: slopeOf(line[j]!, point) }));
      const steepest = slopes.reduce<{ readonly x: number; readonly slope: number } | null>((most, each) => (most === null || each.slope > most.slope ? each : most), null);
      const here = slopes.reduce<{ readonly x: number; readonly slope: number } | null>((best, each) => (best === null || Math.abs(each.x - lineLevelDbu) < Math.abs(best.x - lineLevelDbu) ? each : best), null);
      return { cells: [`H${order}`, line[0]?.x ?? null, here?.slope ?? null, steepest?.slope ?? null, steepest?.x ?? null] };
    }),
  };
}
