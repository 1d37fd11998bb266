/**
 * I − K J and its factors as code: `ChannelMemory.buildNewtonMatrix` and `factorInPairs`, row by row, structural zeros left out and fill-in followed.
 */
import type { Expression } from '../../webassembly/index.ts';
import { leastPivotShare } from '../ordered-elimination.ts';
import type { KernelStructure } from './kernel-structure.ts';
import type { LaneCode } from './lane-code.ts';

/** Factors by row and port (null: always 0), inverses of determinants by pair, and the mask of lanes whose pivots are large enough. */
export interface Factored {
  readonly factors: readonly (Expression | null)[];
  readonly inverses: readonly Expression[];
  readonly usable: Expression;
}

type Entry = Expression | null;

/** Row k of I − K J by port, in locals; null: always 0. */
export function newtonRowCode(code: LaneCode, { ports: m, devices, topology }: KernelStructure, k: number, jacobian: readonly Entry[]): Entry[] {
  const { lanes: { add, sub, mul } } = code;
  const { eliminationOrder, feedbackRows: { starts, columns }, controlPorts, controlSigns } = topology;
  const row = eliminationOrder[k]!;
  const entries = new Array<Entry>(m).fill(null);
  entries[row] = code.constant(1);
  const gains = new Map<number, Expression>();
  for (let entry = starts[row]!; entry < starts[row + 1]!; entry += 1) gains.set(columns[entry]!, code.keep('gain', code.shared('feedback', entry)));
  for (const shape of devices) {
    for (let c = 0; c < shape.controls; c += 1) {
      const control = shape.firstControl + c;
      const port = controlPorts[control]!;
      for (let i = 0; i < shape.currents; i += 1) {
        const gain = gains.get(shape.firstCurrent + i);
        const slope = jacobian[shape.firstJacobian + i * shape.controls + c]!;
        if (gain === undefined || slope === null) continue;
        // Taking away K · (−J) is adding K · J.
        const accumulate = controlSigns[control]! < 0 ? add : sub;
        entries[port] = accumulate(entries[port] ?? code.constant(0), mul(gain, slope));
      }
    }
  }
  return entries.map((entry, port) => (entry === null ? null : code.keep(`a${k},${port}`, entry)));
}

/** p q − r s; any of them may be always 0. */
export function crossCode(code: LaneCode, p: Entry, q: Entry, r: Entry, s: Entry): Entry {
  const { lanes: { sub, mul } } = code;
  if (p === null || q === null) return r === null || s === null ? null : sub(code.constant(0), mul(r, s));
  return r === null || s === null ? mul(p, q) : sub(mul(p, q), mul(r, s));
}

/**
 * Factors of I − K J, also into memory. A row is built, loses what the pairs above it take, and is stored before the next is begun: the same
 * operations on every entry in the same order as in `factorInPairs`, which goes pair by pair, and no more numbers at hand than one row and what it
 * meets.
 */
export function factorCode(code: LaneCode, structure: KernelStructure, jacobian: readonly Entry[]): Factored {
  const { lanes } = code;
  const { ports: m, factorPlaces } = structure;
  const factors = new Array<Entry>(m * m).fill(null);
  const inverses: Expression[] = [];
  const rowSums: Expression[] = [];
  let usable: Expression = lanes.le(code.constant(0), code.constant(0));
  const judge = (pivot: Expression, least: Expression): void => {
    const large = code.keep('large', lanes.ge(lanes.abs(pivot), lanes.mul(code.constant(leastPivotShare), least)));
    usable = inverses.length === 0 ? large : code.keep('usable', lanes.and(usable, large));
    const inverse = code.keep('inverse', lanes.div(code.constant(1), pivot));
    code.store('inverses', inverses.length, inverse);
    inverses.push(inverse);
  };
  for (let k = 0; k < m; k += 1) {
    const row = newtonRowCode(code, structure, k, jacobian);
    const magnitudes = row.flatMap((entry) => (entry === null ? [] : [lanes.abs(entry)]));
    rowSums.push(code.keep('rowSum', magnitudes.reduce((sum, magnitude) => lanes.add(sum, magnitude))));
    for (let pair = 0; pair < k >> 1; pair += 1) takePair(code, row, factors, inverses[pair]!, pair, m);
    row.forEach((entry, port) => {
      factors[k * m + port] = entry;
      const place = factorPlaces[k * m + port]!;
      if (entry !== null) code.store('factors', place, entry);
    });
    const at = k * m + k;
    if ((k & 1) === 1) {
      const determinant = crossCode(code, factors[at - m - 1]!, factors[at]!, factors[at - m]!, factors[at - 1]!) ?? code.constant(0);
      judge(code.keep('determinant', determinant), lanes.mul(rowSums[k - 1]!, rowSums[k]!));
    } else if (k === m - 1) {
      judge(factors[at] ?? code.constant(0), rowSums[k]!);
    }
  }
  code.store('factored', 0, lanes.choose(usable, code.constant(1), code.constant(0)));
  return { factors, inverses, usable };
}

/** What a row loses to the pair of rows 2 `pair`, 2 `pair` + 1 above it, whose multipliers it keeps. */
function takePair(code: LaneCode, row: Entry[], factors: readonly Entry[], inverse: Expression, pair: number, m: number): void {
  const { lanes: { sub, mul } } = code;
  const k = 2 * pair;
  const at = k * m + k;
  const multiplier = (numerator: Entry): Entry => (numerator === null ? null : code.keep('multiplier', mul(numerator, inverse)));
  const [p, q] = [row[k]!, row[k + 1]!];
  const byFirst = multiplier(crossCode(code, p, factors[at + m + 1]!, q, factors[at + m]!));
  const bySecond = multiplier(crossCode(code, q, factors[at]!, p, factors[at + 1]!));
  row[k] = byFirst;
  row[k + 1] = bySecond;
  for (let c = k + 2; c < m; c += 1) {
    const [first, second] = [factors[k * m + c]!, factors[(k + 1) * m + c]!];
    let entry = row[c]!;
    if (byFirst !== null && first !== null) entry = sub(entry ?? code.constant(0), mul(byFirst, first));
    if (bySecond !== null && second !== null) entry = sub(entry ?? code.constant(0), mul(bySecond, second));
    if (entry !== null && entry !== row[c]) row[c] = code.keep('a', entry);
  }
}
