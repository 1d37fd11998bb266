/** The tables behind a figure of causes. */
import { cancellations, decibelsOf, degreesOf, type HarmonicVectors } from '../../attribution.ts';
import { floorDb } from '../../measure-path.ts';
import type { FigureCell, FigureColumn, FigureTable } from '../contract.ts';
import { column } from '../words.ts';
import { degrees } from './degrees.ts';
import { itemName } from './items.ts';
import { shownDb, type FoundItem, type WhyFound } from './why-found.ts';

/** A pair is told of where their sum lies so far below the larger of the two, and this one is not so far below the whole. */
export const leastSavedDb = 1;
export const relevantDb = 30;
const mostCancellations = 12;

const orNull = (value: number): FigureCell => (Number.isFinite(value) ? value : null);

export function whyTables(found: WhyFound): FigureTable[] {
  return [contributionTable(found), phaseTable(found), changeTable(found), ...(found.stages.length > 1 ? [stageTable(found)] : []), cancellationTable(found), takenAwayTable(found)];
}

const orderColumns = ({ orders }: WhyFound, unit: string, digits: number): FigureColumn[] => orders.map((order) => ({ label: `H${order}`, unit, written: 'plain', digits }));

const decibelCells = ({ orders }: WhyFound, vectors: HarmonicVectors): FigureCell[] => orders.map((_, k) => orNull(shownDb(vectors, k)));

function withTrial({ item }: FoundItem, cells: readonly FigureCell[]): FigureTable['rows'][number] {
  return item.trial === null ? { cells } : { cells, trial: item.trial };
}

function contributionTable(found: WhyFound): FigureTable {
  const { ofMechanisms } = found;
  return {
    columns: [column.text('contribution re fundamental'), ...orderColumns(found, 'dB', 1)],
    rows: [
      ...found.mechanisms.map((each) => withTrial(each, [itemName(each.item), ...decibelCells(found, each.contribution)])),
      { cells: ['sum, as vectors', ...decibelCells(found, ofMechanisms.sum)] },
      { cells: ['interaction remainder', ...decibelCells(found, ofMechanisms.remainder)] },
      { cells: ['whole', ...decibelCells(found, found.whole)] },
    ],
  };
}

function phaseTable(found: WhyFound): FigureTable {
  const cells = (vectors: HarmonicVectors): FigureCell[] => found.orders.map((_, k) => (Number.isNaN(shownDb(vectors, k)) ? null : degreesOf(vectors.re[k]!, vectors.im[k]!)));
  return {
    columns: [column.text('phase of the contribution'), ...orderColumns(found, '°', 0)],
    rows: [
      ...found.mechanisms.map((each) => ({ cells: [itemName(each.item), ...cells(each.contribution)] })).filter(({ cells: [, ...angles] }) => angles.some((angle) => angle !== null)),
      { cells: ['interaction remainder', ...cells(found.ofMechanisms.remainder)] },
      { cells: ['whole', ...cells(found.whole)] },
    ],
  };
}

/** By how much each harmonic rises (+) or falls when one thing is taken away. */
function changeTable(found: WhyFound): FigureTable {
  const { whole, orders } = found;
  const change = ({ without }: FoundItem, k: number): FigureCell => {
    const before = shownDb(whole, k);
    const after = decibelsOf(without.re[k]!, without.im[k]!);
    if (Number.isNaN(before) && after < floorDb) return null;
    return after < floorDb ? 'gone' : Number.isNaN(before) ? 'new' : after - before;
  };
  return {
    columns: [column.text('harmonic without it, change'), ...orderColumns(found, 'dB', 1)],
    rows: found.mechanisms.map((each) => withTrial(each, [itemName(each.item), ...orders.map((_, k) => change(each, k))])),
  };
}

function stageTable(found: WhyFound): FigureTable {
  const { ofStages, orders } = found;
  const phases = ({ contribution }: FoundItem): string => orders.flatMap((order, k) => (Number.isNaN(shownDb(contribution, k)) || k > 1 ? [] : [`H${order} ${degrees(contribution.re[k]!, contribution.im[k]!)}`])).join(', ');
  return {
    columns: [column.text('contribution of a stage altogether'), ...orderColumns(found, 'dB', 1), column.text('phase')],
    rows: [
      ...found.stages.map((each) => withTrial(each, [itemName(each.item), ...decibelCells(found, each.contribution), phases(each)])),
      { cells: ['sum, as vectors', ...decibelCells(found, ofStages.sum), null] },
      { cells: ['interaction remainder', ...decibelCells(found, ofStages.remainder), null] },
    ],
  };
}

/** A pair of contributions in words. */
export interface NamedCancellation {
  readonly order: number;
  readonly first: FoundItem;
  readonly second: FoundItem;
  readonly savedDb: number;
  readonly angleDegrees: number;
  readonly largerDb: number;
  readonly leftDb: number;
}

/** Between stages first, then between mechanisms, each by the amplitude it saves; only where it is not far below the whole. */
export function namedCancellations({ stages, mechanisms, whole, orders }: WhyFound): NamedCancellation[] {
  const among = (items: readonly FoundItem[]): NamedCancellation[] => cancellations(items.map(({ contribution }) => contribution), leastSavedDb, floorDb)
    .filter(({ order, largerDb }) => largerDb >= decibelsOf(whole.re[order]!, whole.im[order]!) - relevantDb)
    .map(({ order, first, second, ...rest }) => ({ ...rest, order: orders[order]!, first: items[first]!, second: items[second]! }));
  return [...among(stages), ...among(mechanisms)].slice(0, mostCancellations);
}

function cancellationTable(found: WhyFound): FigureTable {
  return {
    columns: [
      column.text('harmonic'), column.text('of'), column.text('against'), { label: 'larger', unit: 'dB', written: 'plain', digits: 1 }, { label: 'together', unit: 'dB', written: 'plain', digits: 1 },
      { label: 'saved', unit: 'dB', written: 'plain', digits: 1 }, { label: 'angle', unit: '°', written: 'plain', digits: 0 },
    ],
    rows: namedCancellations(found).map(({ order, first, second, largerDb, leftDb, savedDb, angleDegrees }) => ({
      cells: [`H${order}`, itemName(first.item), itemName(second.item), largerDb, orNull(leftDb), orNull(savedDb), angleDegrees],
    })),
  };
}

function takenAwayTable(found: WhyFound): FigureTable {
  return {
    columns: [column.text('mechanism'), column.text('what is taken away'), { label: 'level without it, brought back', unit: 'dB', written: 'plain', digits: 2 }],
    rows: found.mechanisms.map((each) => ({ cells: [itemName(each.item), each.item.sentence, orNull(each.gainDb)] })),
  };
}
