/** What a figure of causes shows: contributions order by order, one order as vectors head to tail, the tables behind. */
import { decibelsToRatio } from '../../../math/index.ts';
import { dbuToPeakVolts, peakVoltsToDbu, type StageValues } from '../../../stages/index.ts';
import { decibelsOf, type HarmonicVectors } from '../../attribution.ts';
import { floorDb } from '../../measure-path.ts';
import type { Figure, FigureAxis, FigureFacts, FigurePanel, FigureTrace } from '../contract.ts';
import { scopeWords } from '../tone.ts';
import { decibels, hertz, signedDbu } from '../words.ts';
import { degrees } from './degrees.ts';
import { itemName, type WhyItem } from './items.ts';
import { foundOf, shownDb, strongest, type FoundItem, type WhyFound, type WhyPoints } from './why-found.ts';
import { whyTables } from './why-tables.ts';
import { whyCaption } from './why-words.ts';

/** Beside the whole so many mechanisms are drawn as lines: those that contribute most to any order. */
const drawnMechanisms = 5;

export function drawWhy(facts: FigureFacts, values: StageValues, items: readonly WhyItem[], points: readonly (WhyPoints | undefined)[]): Figure {
  const asked = Number(values['levelDbu']);
  const title = (hz: number): string => `Where harmonics come from, ${scopeWords(facts)}, ${hertz(hz)} at ${signedDbu(peakVoltsToDbu(dbuToPeakVolts(asked)))}`;
  const found = foundOf(items, points);
  if (found === null) return { title: title(Number(values['frequencyHz'])), caption: 'Nothing has been measured yet.', panels: [], tables: [], remarks: [] };
  const { frequencyHz } = points.find((part) => part !== undefined)!;
  const wanted = String(values['order']);
  const shown = wanted === 'strongest' ? strongest(found.whole) : found.orders.indexOf(Number(wanted));
  return {
    title: title(frequencyHz),
    caption: whyCaption(found),
    panels: [againstOrder(found), ...(shown < 0 ? [] : [asVectors(found, shown)])],
    tables: whyTables(found),
    remarks: [
      'One mechanism at a time is taken away, the operating point and all small signals as they were; what a harmonic loses, as a complex ratio to the fundamental and in its phase, is the contribution. Contributions add as vectors.',
      'Each stage is driven by what reaches it in the path as it stands; behind the stage, the fundamental is brought back to the level it had with the mechanism, so that the stages behind it work as before.',
      'Mechanisms act on one another: what their contributions together lack of the whole is the interaction remainder. Where it is as large as a contribution, that contribution by itself says little.',
      `Under ${decibels(floorDb, 0)} nothing is shown.`,
      ...found.refused.map(({ item, sentence }) => `${itemName(item)}: ${sentence}.`),
      ...(found.missing > 0 ? [`${found.missing} still to come: sums and remainder are of what has come.`] : []),
    ],
  };
}

/** The largest that a mechanism contributes to any order, dB. */
const reachOf = ({ contribution }: FoundItem): number => contribution.re.reduce((most, x, k) => Math.max(most, decibelsOf(x, contribution.im[k]!)), -Infinity);

function againstOrder(found: WhyFound): FigurePanel {
  const { orders } = found;
  const line = (vectors: HarmonicVectors): number[] => orders.map((_, k) => shownDb(vectors, k));
  const strongestFirst = [...found.mechanisms].sort((a, b) => reachOf(b) - reachOf(a)).slice(0, drawnMechanisms).filter((each) => reachOf(each) >= floorDb);
  const traces: FigureTrace[] = [
    { id: 'whole', label: 'whole', axis: 'left', role: 'main', drawn: 'uprights', x: orders, y: line(found.whole) },
    ...strongestFirst.map((each): FigureTrace => ({ id: `${each.item.key} ${each.item.label}`, label: itemName(each.item), axis: 'left', role: 'second', drawn: 'line', x: orders, y: line(each.contribution) })),
    { id: 'remainder', label: 'interaction remainder', axis: 'left', role: 'difference', drawn: 'line', x: orders, y: line(found.ofMechanisms.remainder) },
  ];
  const highest = Math.max(floorDb + 20, ...traces.flatMap(({ y }) => Array.from(y)).filter(Number.isFinite));
  return {
    title: 'Contributions re fundamental', share: 2,
    x: { label: 'harmonic', unit: '', scale: 'linear', written: 'plain', from: orders[0]! - 0.5, to: orders.at(-1)! + 0.5 },
    left: { label: 'contribution', unit: 'dB', scale: 'linear', written: 'plain', from: floorDb, to: Math.ceil((highest + 1) / 20) * 20 },
    traces, marks: [],
  };
}

/** Vectors shorter than this part of the longest are drawn as one line, "others". */
const smallShare = 1 / 25;
/** A panel's width over its height, about: both scales are then alike, and angles are angles. */
const panelShape = 3.2;

/** Head to tail, the largest first, then the remainder; the whole from the origin to where they end. In per cent of the fundamental. */
function asVectors(found: WhyFound, k: number): FigurePanel {
  const { ofMechanisms, whole } = found;
  const at = ({ re, im }: HarmonicVectors): readonly [number, number] => [100 * re[k]!, 100 * im[k]!];
  const size = ({ contribution }: FoundItem): number => decibelsOf(contribution.re[k]!, contribution.im[k]!);
  const mechanisms = [...found.mechanisms].filter((each) => size(each) >= floorDb).sort((a, b) => size(b) - size(a));
  const longest = mechanisms[0] === undefined ? 0 : decibelsToRatio(size(mechanisms[0]));
  const large = mechanisms.filter((each) => decibelsToRatio(size(each)) >= smallShare * longest);
  const small = mechanisms.filter((each) => !large.includes(each));
  const pen = new Pen();
  const traces: FigureTrace[] = large.map((each) => pen.line(`${each.item.key} ${each.item.label}`, itemName(each.item), 'second', [at(each.contribution)]));
  if (small.length > 0) traces.push(pen.line('others', 'others', 'third', small.map((each) => at(each.contribution))));
  traces.push(pen.line('remainder', 'interaction remainder', 'difference', [at(ofMechanisms.remainder)]));
  const [x, y] = at(whole);
  const order = found.orders[k]!;
  const all: readonly FigureTrace[] = [{ id: 'whole', label: `H${order}`, axis: 'left', role: 'main', order, drawn: 'line', x: [0, x], y: [0, y] }, ...traces];
  const [across, up] = equalScales(all);
  const axis = (label: string, [from, to]: readonly [number, number]): FigureAxis => ({ label, unit: '%', scale: 'linear', written: 'plain', from, to });
  return {
    title: `H${order} as vectors, head to tail: ${decibels(decibelsOf(whole.re[k]!, whole.im[k]!))} at ${degrees(whole.re[k]!, whole.im[k]!)}`,
    x: axis('in phase with the fundamental', across), left: axis('a quarter ahead', up), traces: all, marks: [],
  };
}

/** Draws each line from where the one before ended. */
class Pen {
  #x = 0;
  #y = 0;

  line(id: string, label: string, role: FigureTrace['role'], steps: readonly (readonly [number, number])[]): FigureTrace {
    const points = [[this.#x, this.#y] as const, ...steps.map(([dx, dy]) => {
      this.#x += dx;
      this.#y += dy;
      return [this.#x, this.#y] as const;
    })];
    return { id, label, axis: 'left', role, drawn: 'line', x: points.map(([x]) => x), y: points.map(([, y]) => y) };
  }
}

/** Ends of both axes, with room, so that a per cent is as long on either. */
function equalScales(traces: readonly FigureTrace[]): readonly [readonly [number, number], readonly [number, number]] {
  const span = (of: (trace: FigureTrace) => ArrayLike<number>): readonly [middle: number, width: number] => {
    const ends = traces.flatMap((trace) => Array.from(of(trace)));
    const [low, high] = [Math.min(0, ...ends), Math.max(0, ...ends)];
    return [(low + high) / 2, high - low];
  };
  const [[x, width], [y, height]] = [span((trace) => trace.x), span((trace) => trace.y)];
  const half = 0.6 * Math.max(width, panelShape * height, 1e-9);
  return [[x - half, x + half], [y - half / panelShape, y + half / panelShape]];
}
