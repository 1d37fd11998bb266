/**
 * How each harmonic order is commonly judged: the one table that page, command line and reports read.
 * Orders 2 and 3 are commonly judged pleasing in small amounts, 5, 7 and every higher order harsh; 4 and 6 are left unjudged
 * (common practice, no source).
 */

export type OrderJudgement = 'pleasing' | 'unjudged' | 'harsh';

/** How a bar of that judgement is filled, so that it can be told without colour. */
export type OrderFill = 'solid' | 'outline' | 'hatched';

export interface OrderEntry {
  readonly order: number;
  readonly judgement: OrderJudgement;
  readonly fill: OrderFill;
  /** Word in the row; empty where nothing is said. */
  readonly word: string;
}

const fills: Readonly<Record<OrderJudgement, OrderFill>> = { pleasing: 'solid', unjudged: 'outline', harsh: 'hatched' };

/** Orders 2 to 6; every higher one is harsh. */
const judged: Readonly<Record<number, OrderJudgement>> = { 2: 'pleasing', 3: 'pleasing', 4: 'unjudged', 5: 'harsh', 6: 'unjudged' };

/** Judgement of an order from 2 on. @throws RangeError for any other number */
export function judgeOrder(order: number): OrderEntry {
  if (!(Number.isInteger(order) && order >= 2)) throw new RangeError(`harmonic order: expected a whole number from 2, got ${order}`);
  const judgement = judged[order] ?? 'harsh';
  return { order, judgement, fill: fills[judgement], word: judgement === 'harsh' ? 'harsh' : '' };
}

/** The orders the bench shows: 2 to 10. */
export const orders: readonly OrderEntry[] = [2, 3, 4, 5, 6, 7, 8, 9, 10].map(judgeOrder);

/** Said once wherever harsh orders are drawn, behind the word for how they are drawn. */
export const harshVerdict = 'commonly judged harsh (common practice, no source)';

/** Said once wherever hatched bars are drawn. */
export const harshSentence = `hatched: ${harshVerdict}`;
