/** The nodal form as straight-line code: `NodalSolve`, the same operations in the same order, for one lane or two. */
import type { Expression, Local } from '../../webassembly/index.ts';
import { placeIn } from '../nodal-solve.ts';
import { leastPivotShare } from '../ordered-elimination.ts';
import type { NodalTopology } from '../program.ts';
import type { KernelStructure } from './kernel-structure.ts';
import type { LaneCode } from './lane-code.ts';
import { storeNextCode } from './newton-code.ts';
import type { Evaluated } from './newton-code.ts';

/** Something factored: g of the present sample into `step`, from x. */
export interface Solvable {
  /** Mask of lanes whose pivots are large enough. */
  readonly usable: Expression;
  solve(portVolts: readonly Expression[], step: readonly Local[]): void;
}

/** b of this sample into memory. */
export function predictSourcesCode(code: LaneCode, { sourceRows: { starts, columns }, size }: NodalTopology, input: Expression, states: readonly Expression[]): void {
  const { lanes: { add, mul } } = code;
  for (let row = 0; row < size; row += 1) {
    let sum = code.shared('sourceConstants', row);
    for (let entry = starts[row]!; entry < starts[row + 1]!; entry += 1) {
      const c = columns[entry]!;
      sum = add(sum, mul(code.shared('sourceCoefficients', entry), c === 0 ? input : states[c - 1]!));
    }
    code.store('sources', row, sum);
  }
}

/** Factors and e as the last evaluation left them. */
export function loadNodal(code: LaneCode, nodal: NodalTopology): Solvable {
  return solvable(code, nodal, {
    factor: (place) => code.load('factors', place),
    inverse: (k) => code.load('inverses', k),
    excess: (i) => code.load('excess', i),
    usable: code.lanes.gt(code.load('factored'), code.constant(0)),
  });
}

/** e and the factors of an evaluation, also into memory. The control voltages are read from there. */
export function factorNodalCode(code: LaneCode, { devices }: KernelStructure, nodal: NodalTopology, { currents, jacobian }: Evaluated): Solvable {
  const { lanes } = code;
  const { add, sub, mul } = lanes;
  const excess: Expression[] = [];
  const moving = (k: number): Expression => (nodal.controlHeld[k] === 1 ? sub(code.load('volts', k), code.shared('controlHeldVolts', k)) : code.load('volts', k));
  for (const shape of devices) {
    const volts = Array.from({ length: shape.controls }, (_, c) => code.keep('v', moving(shape.firstControl + c)));
    for (let i = 0; i < shape.currents; i += 1) {
      let sum = currents[shape.firstCurrent + i]!;
      for (let c = 0; c < shape.controls; c += 1) {
        const slope = jacobian[shape.firstJacobian + i * shape.controls + c]!;
        if (slope !== null) sum = sub(sum, mul(slope, volts[c]!));
      }
      excess.push(code.keep('e', sum));
      code.store('excess', shape.firstCurrent + i, excess.at(-1)!);
    }
  }
  const { size, matrixRows: { starts, columns }, linearPlaces, stampPlaces, stampEntries, stampSigns } = nodal;
  const values = new Array<Expression | null>(columns.length).fill(null);
  const inverses: Expression[] = [];
  let usable: Expression | null = null;
  let linear = 0;
  let stamp = 0;
  for (let k = 0; k < size; k += 1) {
    const magnitudes: Expression[] = [];
    for (let place = starts[k]!; place < starts[k + 1]!; place += 1) {
      let value: Expression | null = null;
      if (linearPlaces[linear] === place) {
        value = code.shared('linear', linear);
        linear += 1;
      }
      for (; stampPlaces[stamp] === place; stamp += 1) {
        const slope = jacobian[stampEntries[stamp]!]!;
        if (slope === null) continue;
        value = (stampSigns[stamp]! < 0 ? sub : add)(value ?? code.constant(0), slope);
      }
      values[place] = value === null ? null : code.keep(`a${k},${columns[place]!}`, value);
      if (value !== null) magnitudes.push(lanes.abs(values[place]!));
    }
    const rowSum = code.keep('rowSum', magnitudes.reduce((sum, magnitude) => add(sum, magnitude)));
    for (let place = starts[k]!; columns[place]! < k; place += 1) {
      const j = columns[place]!;
      const entry = values[place];
      if (!entry) continue;
      const multiplier = code.keep('multiplier', mul(entry, inverses[j]!));
      values[place] = multiplier;
      for (let source = starts[j]!; source < starts[j + 1]!; source += 1) {
        if (columns[source]! <= j || values[source] === null) continue;
        const target = placeIn(nodal, k, columns[source]!);
        values[target] = code.keep('a', sub(values[target] ?? code.constant(0), mul(multiplier, values[source]!)));
      }
    }
    const pivot = values[placeIn(nodal, k, k)] ?? code.constant(0);
    const large = code.keep('large', lanes.ge(lanes.abs(pivot), mul(code.constant(leastPivotShare), rowSum)));
    usable = usable === null ? large : code.keep('usable', lanes.and(usable, large));
    inverses.push(code.keep('inverse', lanes.div(code.constant(1), pivot)));
    code.store('inverses', k, inverses[k]!);
    for (let place = starts[k]!; place < starts[k + 1]!; place += 1) {
      values[place] ??= code.constant(0);
      code.store('factors', place, values[place]!);
    }
  }
  code.store('factored', 0, lanes.choose(usable!, code.constant(1), code.constant(0)));
  return solvable(code, nodal, { factor: (place) => values[place]!, inverse: (k) => inverses[k]!, excess: (i) => excess[i]!, usable: usable! });
}

interface Parts {
  factor(place: number): Expression;
  inverse(k: number): Expression;
  excess(i: number): Expression;
  readonly usable: Expression;
}

/** w into memory, and g = P w − x. */
function solvable(code: LaneCode, { size, feedRows, feedSigns, matrixRows: { starts, columns }, portPlus, portMinus, portSigns, portHeld }: NodalTopology, parts: Parts): Solvable {
  const { add, sub, mul, neg } = code.lanes;
  const solve = (portVolts: readonly Expression[], step: readonly Local[]): void => {
    const right: Expression[] = [];
    for (let k = 0; k < size; k += 1) {
      let sum = code.load('sources', k);
      for (let feed = feedRows.starts[k]!; feed < feedRows.starts[k + 1]!; feed += 1) sum = (feedSigns[feed]! < 0 ? sub : add)(sum, parts.excess(feedRows.columns[feed]!));
      for (let place = starts[k]!; columns[place]! < k; place += 1) sum = sub(sum, mul(parts.factor(place), right[columns[place]!]!));
      right.push(code.keep(`r${k}`, sum));
    }
    const unknowns = new Array<Expression>(size);
    for (let k = size - 1; k >= 0; k -= 1) {
      let sum = right[k]!;
      for (let place = starts[k]!; place < starts[k + 1]!; place += 1) {
        const c = columns[place]!;
        if (c > k) sum = sub(sum, mul(parts.factor(place), unknowns[c]!));
      }
      unknowns[k] = code.keep(`w${k}`, mul(sum, parts.inverse(k)));
      code.store('unknowns', k, unknowns[k]!);
    }
    step.forEach((g, port) => {
      const [plus, minus] = [portPlus[port]!, portMinus[port]!];
      const across = sub(plus < 0 ? code.constant(0) : unknowns[plus]!, minus < 0 ? code.constant(0) : unknowns[minus]!);
      const signed = portSigns[port]! < 0 ? neg(across) : across;
      code.set(g, sub(portHeld[port] === 1 ? add(signed, code.shared('portHeldVolts', port)) : signed, portVolts[port]!));
    });
  };
  return { usable: parts.usable, solve };
}

/** New states from the previous ones and w into memory, the output, and the mask of lanes in which all of them are finite. */
export function advanceNodalCode(
  code: LaneCode, n: number, { updateRows: { starts, columns } }: NodalTopology, input: Expression, largest: number,
): { readonly output: Expression; readonly finite: Expression } {
  const { lanes } = code;
  const column = (c: number): Expression => (c === 0 ? input : c <= n ? code.load('previousStates', c - 1) : code.load('unknowns', c - 1 - n));
  const sumOf = (row: number): Expression => {
    let sum = code.shared('nodalUpdateConstants', row);
    for (let entry = starts[row]!; entry < starts[row + 1]!; entry += 1) sum = lanes.add(sum, lanes.mul(code.shared('nodalUpdateCoefficients', entry), column(columns[entry]!)));
    return sum;
  };
  return storeNextCode(code, n, sumOf, largest);
}
