/** What has come of a figure of causes, put in order. */
import { attribute, decibelsOf, type Attribution, type HarmonicVectors } from '../../attribution.ts';
import { floorDb } from '../../measure-path.ts';
import { stageItems, type WhyItem } from './items.ts';

/** What has been measured: the whole, and without each item that has come. */
export interface WhyPoints {
  readonly frequencyHz: number;
  readonly orders: readonly number[];
  readonly fundamentalPeakVolts: number;
  readonly whole: HarmonicVectors;
  readonly found: readonly {
    readonly index: number;
    /** Null: `refusal` says why it cannot be had. */
    readonly without: HarmonicVectors | null;
    readonly gainDb: number;
    readonly refusal: string | null;
  }[];
}

/** An item that has been measured. */
export interface FoundItem {
  readonly index: number;
  readonly item: WhyItem;
  readonly contribution: HarmonicVectors;
  /** Harmonics that are left without it. */
  readonly without: HarmonicVectors;
  readonly gainDb: number;
}

/** All that has come, in the order of the items. */
export interface WhyFound {
  readonly orders: readonly number[];
  readonly whole: HarmonicVectors;
  /** Mechanisms, and how they add up. */
  readonly mechanisms: readonly FoundItem[];
  readonly ofMechanisms: Attribution;
  /** What each stage does altogether; fewer than two: empty. */
  readonly stages: readonly FoundItem[];
  readonly ofStages: Attribution;
  readonly refused: readonly { readonly item: WhyItem; readonly sentence: string }[];
  /** How many items have not come yet. */
  readonly missing: number;
}

/** Null before anything has come. */
export function foundOf(items: readonly WhyItem[], points: readonly (WhyPoints | undefined)[]): WhyFound | null {
  const come = points.flatMap((part) => part ?? []);
  const first = come[0];
  if (first === undefined) return null;
  const { whole, orders } = first;
  const measured = come.flatMap(({ found }) => found).sort((a, b) => a.index - b.index);
  const taken = measured.flatMap(({ index, without, gainDb }): FoundItem[] =>
    (without === null ? [] : [{ index, item: items[index]!, without, gainDb, contribution: attribute(whole, [without]).contributions[0]! }]));
  const mechanisms = taken.filter(({ item }) => item.kind === 'mechanism');
  const wanted = new Set(stageItems(items));
  const stages = wanted.size > 1 ? taken.filter(({ index }) => wanted.has(index)) : [];
  return {
    orders, whole, mechanisms, stages,
    ofMechanisms: attribute(whole, mechanisms.map(({ without }) => without)),
    ofStages: attribute(whole, stages.map(({ without }) => without)),
    refused: measured.flatMap(({ index, refusal }) => (refusal === null ? [] : [{ item: items[index]!, sentence: refusal }])),
    missing: items.length - measured.length,
  };
}

/** Place of the strongest harmonic among the orders; −1: none above the floor. */
export function strongest({ re, im }: HarmonicVectors): number {
  let best = -1;
  let most = floorDb;
  re.forEach((x, k) => {
    const db = decibelsOf(x, im[k]!);
    if (db > most) [best, most] = [k, db];
  });
  return best;
}

/** dB re the fundamental, a gap under the floor. */
export const shownDb = ({ re, im }: HarmonicVectors, k: number): number => {
  const db = decibelsOf(re[k]!, im[k]!);
  return db >= floorDb ? db : NaN;
};
