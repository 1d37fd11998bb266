/**
 * The parts of a sample as straight-line code, for one lane or two: every sum in the order `program.ts` lays down, structural zeros left out. What a
 * part hands on to the next stays in locals; what the next sample needs goes to memory as well.
 */
import { get } from '../../webassembly/index.ts';
import type { Expression, Local } from '../../webassembly/index.ts';
import { leastPivotShare } from '../channel-memory.ts';
import type { SparseRows } from '../program.ts';
import { largestMissShare, leastState } from '../solver.ts';
import { deviceCode } from './device-code.ts';
import { isAlwaysZero } from './kernel-structure.ts';
import type { KernelStructure } from './kernel-structure.ts';
import type { LaneCode } from './lane-code.ts';

/** Currents i, packed Jacobian (null: always 0). */
export interface Evaluated {
  readonly currents: readonly Expression[];
  readonly jacobian: readonly (Expression | null)[];
}

/** Factors by place, and the mask of lanes whose pivots are large enough. */
export interface Factored {
  readonly factors: readonly Expression[];
  readonly usable: Expression;
}

/** constant + Σ coefficient · column, for row `row`. */
function rowSum(code: LaneCode, rows: SparseRows, row: number, constants: 'portConstants' | 'updateConstants', coefficients: 'portCoefficients' | 'updateCoefficients', column: (c: number) => Expression): Expression {
  const { lanes: { add, mul } } = code;
  let sum = code.shared(constants, row);
  for (let entry = rows.starts[row]!; entry < rows.starts[row + 1]!; entry += 1) sum = add(sum, mul(code.shared(coefficients, entry), column(rows.columns[entry]!)));
  return sum;
}

/**
 * p, one local a port, and into memory. (A store after each row is also what keeps the engine's compiler from loading all rows' coefficients first, running out of registers and
 * putting them aside one by one.)
 */
export function predictPortsCode(code: LaneCode, { ports, topology }: KernelStructure, input: Expression, states: readonly Expression[]): Expression[] {
  return Array.from({ length: ports }, (_, row) => {
    const p = code.keep(`p${row}`, rowSum(code, topology.portRows, row, 'portConstants', 'portCoefficients', (c) => (c === 0 ? input : states[c - 1]!)));
    code.store('ports', row, p);
    return p;
  });
}

/** i, J and factors as the last evaluation left them. */
export function loadEvaluated(code: LaneCode, structure: KernelStructure): Evaluated & Factored {
  return {
    currents: Array.from({ length: structure.currents }, (_, i) => code.load('currents', i)),
    jacobian: loadJacobian(code, structure),
    factors: Array.from({ length: structure.factorCount }, (_, k) => code.load('factors', k)),
    usable: code.lanes.gt(code.load('factored'), code.constant(0)),
  };
}

export function loadJacobian(code: LaneCode, structure: KernelStructure): (Expression | null)[] {
  return alwaysZero(structure).map((zero, entry) => (zero ? null : code.load('jacobian', entry)));
}

/** (p − x) + K i of row k of the elimination order. */
export function residualCode(code: LaneCode, { topology }: KernelStructure, k: number, ports: readonly Expression[], portVolts: readonly Expression[], currents: readonly Expression[]): Expression {
  const { lanes: { add, sub, mul } } = code;
  const { eliminationOrder, feedbackRows: { starts, columns } } = topology;
  const row = eliminationOrder[k]!;
  let sum = sub(ports[row]!, portVolts[row]!);
  for (let entry = starts[row]!; entry < starts[row + 1]!; entry += 1) sum = add(sum, mul(code.shared('feedback', entry), currents[columns[entry]!]!));
  return sum;
}

/** g into `step`. */
export function solveStepCode(
  code: LaneCode, structure: KernelStructure, ports: readonly Expression[], portVolts: readonly Expression[], { currents }: Evaluated, { factors }: Factored, step: readonly Local[],
): void {
  const { lanes: { sub, mul } } = code;
  const { ports: m, factorPlaces } = structure;
  const factor = (row: number, c: number): Expression | null => factors[factorPlaces[row * m + c]!] ?? null;
  const right: Expression[] = [];
  for (let k = 0; k < m; k += 1) {
    let sum = residualCode(code, structure, k, ports, portVolts, currents);
    for (let c = 0; c < k; c += 1) {
      const multiplier = factor(k, c);
      if (multiplier !== null) sum = sub(sum, mul(multiplier, right[c]!));
    }
    right.push(code.keep(`f${k}`, sum));
  }
  for (let k = m - 1; k >= 0; k -= 1) {
    let sum = right[k]!;
    for (let c = k + 1; c < m; c += 1) {
      const above = factor(k, c);
      if (above !== null) sum = sub(sum, mul(above, get(step[c]!)));
    }
    code.set(step[k]!, mul(sum, factor(k, k)!));
  }
}

/** Mask: |g| of every port is within the tolerance. */
export function convergedCode(code: LaneCode, { ports }: KernelStructure, step: readonly Local[]): Expression {
  const { lanes } = code;
  const tolerance = code.keep('tolerance', code.shared('tolerance'));
  let all: Expression | null = null;
  for (let k = 0; k < ports; k += 1) {
    const within = lanes.lt(lanes.mul(lanes.abs(get(step[k]!)), code.shared('inverseScale', k)), tolerance);
    all = all === null ? within : lanes.and(all, within);
  }
  return all ?? lanes.lt(code.constant(0), tolerance);
}

/** Mask: no port's step needs limiting. */
export function freeCode(code: LaneCode, { ports }: KernelStructure, step: readonly Local[]): Expression {
  const { lanes } = code;
  let all: Expression | null = null;
  for (let k = 0; k < ports; k += 1) {
    const free = lanes.le(lanes.abs(get(step[k]!)), code.shared('freeStep', k));
    all = all === null ? free : lanes.and(all, free);
  }
  return all ?? lanes.le(code.constant(0), code.constant(0));
}

/**
 * x of the next evaluation into `portVolts` and memory; lanes in `held` (null: none) keep theirs. In the first step of a sample (i32 `first`), the miss of the last one is
 * added where it is small.
 */
export function takeStepCode(
  code: LaneCode, { ports }: KernelStructure, first: Expression, held: Expression | null, step: readonly Local[], taken: readonly Local[], portVolts: readonly Local[],
): void {
  const { lanes } = code;
  const hold = (from: Expression, to: Expression): Expression => (held === null ? to : lanes.choose(held, from, to));
  const from = Array.from({ length: ports }, (_, k) => code.keep(`from${k}`, code.load('portVolts', k)));
  const to = from.map((x, k) => code.keep(`to${k}`, lanes.add(x, get(taken[k]!))));
  code.when(
    first,
    () => {
      to.forEach((x, k) => {
        code.store('startPortVolts', k, from[k]!);
        code.store('predicted', k, x);
        const miss = code.keep('miss', code.load('missed', k));
        const whole = lanes.not(lanes.ne(get(taken[k]!), get(step[k]!)));
        const small = lanes.le(lanes.abs(miss), lanes.mul(code.constant(largestMissShare), lanes.abs(get(taken[k]!))));
        code.set(portVolts[k]!, hold(from[k]!, lanes.choose(lanes.and(whole, small), lanes.add(x, miss), x)));
      });
    },
    () => to.forEach((x, k) => code.set(portVolts[k]!, hold(from[k]!, x))),
  );
  portVolts.forEach((x, k) => code.store('portVolts', k, get(x)));
}

function alwaysZero({ devices, jacobianCount }: KernelStructure): boolean[] {
  const zero = new Array<boolean>(jacobianCount).fill(false);
  for (const shape of devices) {
    for (let i = 0; i < shape.currents; i += 1) {
      for (let c = 0; c < shape.controls; c += 1) zero[shape.firstJacobian + i * shape.controls + c] = isAlwaysZero(shape, i, c);
    }
  }
  return zero;
}

/** v, i and J at x, also into memory. */
export function evaluateCode(code: LaneCode, structure: KernelStructure, portVolts: readonly Expression[]): Evaluated {
  const { lanes: { add, sub, mul, neg } } = code;
  const { devices, topology: { controlPorts, controlSigns }, merged, shifted, jacobianCount } = structure;
  const currents: Expression[] = [];
  const jacobian = new Array<Expression | null>(jacobianCount).fill(null);
  for (const shape of devices) {
    const volts = Array.from({ length: shape.controls }, (_, c) => {
      const k = shape.firstControl + c;
      const x = portVolts[controlPorts[k]!]!;
      if (!merged) return x;
      const v = code.keep('v', add(controlSigns[k]! < 0 ? neg(x) : x, code.shared('controlOffsets', k)));
      code.store('volts', k, v);
      return v;
    });
    const values = deviceCode(code, shape, volts);
    values.currents.forEach((current, i) => {
      let sum = current;
      for (let c = 0; c < shape.controls; c += 1) {
        const entry = shape.firstJacobian + i * shape.controls + c;
        const slope = values.jacobian[i * shape.controls + c]!;
        // What is always 0 is 0 in the matrices' part of it, too.
        if (!shifted || slope === null) {
          jacobian[entry] = slope;
          continue;
        }
        const shift = code.keep('shift', code.shared('shift', entry));
        sum = sub(sum, mul(shift, volts[c]!));
        jacobian[entry] = code.keep('g', sub(slope, shift));
      }
      currents.push(sum === current ? sum : code.keep('i', sum));
    });
  }
  currents.forEach((current, i) => code.store('currents', i, current));
  jacobian.forEach((slope, entry) => { if (slope !== null) code.store('jacobian', entry, slope); });
  return { currents, jacobian };
}

/** I − K J by row and port, in locals; null: always 0. */
export function newtonMatrixCode(code: LaneCode, { ports: m, devices, topology }: KernelStructure, { jacobian }: Evaluated): (Expression | null)[] {
  const { lanes: { add, sub, mul } } = code;
  const { eliminationOrder, feedbackRows: { starts, columns }, controlPorts, controlSigns } = topology;
  const matrix = new Array<Expression | null>(m * m).fill(null);
  eliminationOrder.forEach((row, k) => {
    matrix[k * m + row] = code.constant(1);
    const gains = new Map<number, Expression>();
    for (let entry = starts[row]!; entry < starts[row + 1]!; entry += 1) gains.set(columns[entry]!, code.keep('gain', code.shared('feedback', entry)));
    for (const shape of devices) {
      for (let c = 0; c < shape.controls; c += 1) {
        const control = shape.firstControl + c;
        const at = k * m + controlPorts[control]!;
        for (let i = 0; i < shape.currents; i += 1) {
          const gain = gains.get(shape.firstCurrent + i);
          const slope = jacobian[shape.firstJacobian + i * shape.controls + c]!;
          if (gain === undefined || slope === null) continue;
          // Taking away K · (−J) is adding K · J.
          const accumulate = controlSigns[control]! < 0 ? add : sub;
          matrix[at] = accumulate(matrix[at] ?? code.constant(0), mul(gain, slope));
        }
      }
    }
  });
  return matrix.map((entry, at) => (entry === null ? null : code.keep(`a${Math.floor(at / m)},${at % m}`, entry)));
}

/** Factors of I − K J, also into memory. */
export function factorCode(code: LaneCode, structure: KernelStructure, evaluated: Evaluated): Factored {
  const { lanes } = code;
  const { ports: m, factorPlaces, factorCount } = structure;
  const a = newtonMatrixCode(code, structure, evaluated);
  let usable: Expression = lanes.le(code.constant(0), code.constant(0));
  const floors = Array.from({ length: m }, (_, row) => {
    let sum: Expression | null = null;
    for (let c = 0; c < m; c += 1) {
      const entry = a[row * m + c]!;
      if (entry !== null) sum = sum === null ? lanes.abs(entry) : lanes.add(sum, lanes.abs(entry));
    }
    return lanes.mul(code.constant(leastPivotShare), sum!);
  });
  for (let k = 0; k < m; k += 1) {
    const pivot = a[k * m + k] ?? code.constant(0);
    const large = lanes.ge(lanes.abs(pivot), floors[k]!);
    usable = k === 0 ? large : lanes.and(usable, large);
    const inverse = code.keep(`inverse${k}`, lanes.div(code.constant(1), pivot));
    a[k * m + k] = inverse;
    for (let row = k + 1; row < m; row += 1) {
      const below = a[row * m + k]!;
      if (below === null) continue;
      const multiplier = code.keep('l', lanes.mul(below, inverse));
      a[row * m + k] = multiplier;
      for (let c = k + 1; c < m; c += 1) {
        const across = a[k * m + c]!;
        if (across === null) continue;
        a[row * m + c] = code.keep('u', lanes.sub(a[row * m + c] ?? code.constant(0), lanes.mul(multiplier, across)));
      }
    }
  }
  usable = code.keep('usable', usable);
  code.store('factored', 0, lanes.choose(usable, code.constant(1), code.constant(0)));
  const factors = new Array<Expression>(factorCount);
  for (let at = 0; at < m * m; at += 1) {
    const place = factorPlaces[at]!;
    if (place < 0) continue;
    factors[place] = a[at]!;
    code.store('factors', place, a[at]!);
  }
  return { factors, usable };
}

/** c = i + J g, in locals. */
export function correctCurrentsCode(code: LaneCode, { devices, topology: { controlPorts, controlSigns } }: KernelStructure, { currents, jacobian }: Evaluated, step: readonly Local[]): Expression[] {
  const { lanes: { add, sub, mul } } = code;
  const corrected: Expression[] = [];
  for (const shape of devices) {
    for (let i = 0; i < shape.currents; i += 1) {
      let sum = currents[shape.firstCurrent + i]!;
      for (let c = 0; c < shape.controls; c += 1) {
        const control = shape.firstControl + c;
        const slope = jacobian[shape.firstJacobian + i * shape.controls + c]!;
        if (slope === null) continue;
        sum = (controlSigns[control]! < 0 ? sub : add)(sum, mul(slope, get(step[controlPorts[control]!]!)));
      }
      corrected.push(code.keep('c', sum));
    }
  }
  return corrected;
}

/** New states, from the previous ones, into memory, the output, and the mask of lanes in which all of them are finite. */
export function advanceCode(
  code: LaneCode, { states: n, topology }: KernelStructure, input: Expression, corrected: readonly Expression[], largest: number,
): { readonly output: Expression; readonly finite: Expression } {
  const { lanes } = code;
  const column = (c: number): Expression => (c === 0 ? input : c <= n ? code.load('previousStates', c - 1) : corrected[c - 1 - n]!);
  const next = (row: number): Expression => code.keep(row === n ? 'y' : `z${row}`, rowSum(code, topology.updateRows, row, 'updateConstants', 'updateCoefficients', column));
  const limit = code.keep('limit', code.constant(largest));
  const masks: Expression[] = [];
  for (let k = 0; k < n; k += 1) {
    const z = next(k);
    const magnitude = code.keep('magnitude', lanes.abs(z));
    masks.push(lanes.le(magnitude, limit));
    code.store('states', k, lanes.choose(lanes.lt(magnitude, code.constant(leastState)), code.constant(0), z));
  }
  const output = next(n);
  return { output: lanes.add(output, code.constant(0)), finite: masks.reduce((all, mask) => lanes.and(all, mask), lanes.le(lanes.abs(output), limit)) };
}
