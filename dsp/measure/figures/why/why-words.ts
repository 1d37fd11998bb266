/** What a figure of causes says in a sentence. */
import { decibelsOf, type HarmonicVectors } from '../../attribution.ts';
import { judgeOrder } from '../../orders.ts';
import { decibels } from '../words.ts';
import { itemName, type WhyItem } from './items.ts';
import { shownDb, strongest, type FoundItem, type WhyFound } from './why-found.ts';
import { namedCancellations, type NamedCancellation } from './why-tables.ts';

/** Mostly: at least so much of a harmonic, dB below it. */
const mostlyDb = 6;
/** A cancellation worth a place in the sentence. */
const tellingDb = 3;

export function whyCaption(found: WhyFound): string {
  const first = strongest(found.whole);
  if (first < 0) return 'No harmonic stands above the floor: there is nothing to explain.';
  if (found.mechanisms.length === 0) return 'The harmonics of the whole are measured; what they come from is still to come.';
  const harsh = strongestHarsh(found);
  const told = causes(found, [first, ...(harsh >= 0 && harsh !== first ? [harsh] : [])]);
  const cancelled = namedCancellations(found).find(({ savedDb, order }) => savedDb >= tellingDb && Number.isFinite(shownDb(found.whole, found.orders.indexOf(order))));
  return `${[...told, ...(cancelled ? [cancellation(found, cancelled)] : [])].join('; ')}.`;
}

function strongestHarsh({ whole, orders }: WhyFound): number {
  let best = -1;
  orders.forEach((order, k) => {
    const db = shownDb(whole, k);
    if (judgeOrder(order).judgement === 'harsh' && Number.isFinite(db) && (best < 0 || db > shownDb(whole, best))) best = k;
  });
  return best;
}

/** One sentence for each; those with the same cause in one: "H3 and H5 come mostly from crossover of the output pair, stage 2 (−41.9 of −42.3 dB, −50.5 of −50.5 dB)". */
function causes(found: WhyFound, places: readonly number[]): string[] {
  const [a, b] = places;
  const at = (k: number): Cause => causeOf(found, k);
  if (a === undefined) return [];
  if (b === undefined || at(a).item === null || at(a).item !== at(b).item) return places.map((k) => cause(found, k));
  const [lower, higher] = [a, b].sort((one, other) => one - other).map((k) => ({ k, ...at(k) })) as [Cause & { k: number }, Cause & { k: number }];
  return [`H${found.orders[lower.k]!} and H${found.orders[higher.k]!} come mostly from ${itemName(lower.item!)} (${lower.share}, ${higher.share})`];
}

interface Cause {
  /** Null: none contributes most of it. */
  readonly item: WhyItem | null;
  /** "−92.1 of −93.0 dB" */
  readonly share: string;
}

function causeOf({ whole, mechanisms }: WhyFound, k: number): Cause {
  const size = ({ contribution }: FoundItem): number => decibelsOf(contribution.re[k]!, contribution.im[k]!);
  const [most] = [...mechanisms].sort((a, b) => size(b) - size(a));
  const wholeDb = decibelsOf(whole.re[k]!, whole.im[k]!);
  return { item: most !== undefined && size(most) >= wholeDb - mostlyDb ? most.item : null, share: `${decibels(size(most!)).replace(' dB', '')} of ${decibels(wholeDb)}` };
}

/** "H5 comes mostly from crossover of the output pair, stage 2 (−92.1 of −93.0 dB)" */
function cause(found: WhyFound, k: number): string {
  const { whole, mechanisms, ofMechanisms, orders } = found;
  const { item, share } = causeOf(found, k);
  const order = `H${orders[k]!}`;
  if (item !== null) return `${order} comes mostly from ${itemName(item)} (${share})`;
  const size = ({ re, im }: HarmonicVectors): number => decibelsOf(re[k]!, im[k]!);
  const [most] = [...mechanisms].sort((a, b) => size(b.contribution) - size(a.contribution));
  return `${order} (${decibels(size(whole))}) has no single cause: the largest is ${itemName(most!.item)} (${decibels(size(most!.contribution))}), the interaction remainder ${decibels(size(ofMechanisms.remainder))}`;
}

function cancellation({ stages }: WhyFound, { order, first, second, savedDb }: NamedCancellation): string {
  const saved = Number.isFinite(savedDb) ? `by ${savedDb.toFixed(0)} dB` : 'wholly';
  const [a, b] = [first.item, second.item];
  if (stages.includes(first) && stages.includes(second)) return `H${order} of stages ${a.stageNumber} and ${b.stageNumber} cancel ${saved}`;
  return `H${order} of ${itemName(a)} and of ${itemName(b)} cancel ${saved}`;
}
