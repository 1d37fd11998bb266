/** What a figure of causes says in a sentence. */
import { decibelsOf } from '../../attribution.ts';
import { judgeOrder } from '../../orders.ts';
import { decibels } from '../words.ts';
import { itemName } from './items.ts';
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
  const told = [first, ...(harsh >= 0 && harsh !== first ? [harsh] : [])].map((k) => cause(found, k));
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

/** "H5 comes mostly from crossover of the output pair, stage 2 (−92.1 of −93.0 dB)" */
function cause({ whole, mechanisms, ofMechanisms, orders }: WhyFound, k: number): string {
  const size = ({ contribution }: FoundItem): number => decibelsOf(contribution.re[k]!, contribution.im[k]!);
  const [most] = [...mechanisms].sort((a, b) => size(b) - size(a));
  const wholeDb = decibelsOf(whole.re[k]!, whole.im[k]!);
  const order = `H${orders[k]!}`;
  const remainderDb = decibelsOf(ofMechanisms.remainder.re[k]!, ofMechanisms.remainder.im[k]!);
  if (size(most!) < wholeDb - mostlyDb) return `${order} (${decibels(wholeDb)}) has no single cause: the largest is ${itemName(most!.item)} (${decibels(size(most!))}), the interaction remainder ${decibels(remainderDb)}`;
  return `${order} comes mostly from ${itemName(most!.item)} (${decibels(size(most!)).replace(' dB', '')} of ${decibels(wholeDb)})`;
}

function cancellation({ stages }: WhyFound, { order, first, second, savedDb }: NamedCancellation): string {
  const saved = Number.isFinite(savedDb) ? `by ${savedDb.toFixed(0)} dB` : 'wholly';
  const [a, b] = [first.item, second.item];
  if (stages.includes(first) && stages.includes(second)) return `H${order} of stages ${a.stageNumber} and ${b.stageNumber} cancel ${saved}`;
  return `H${order} of ${itemName(a)} and of ${itemName(b)} cancel ${saved}`;
}
