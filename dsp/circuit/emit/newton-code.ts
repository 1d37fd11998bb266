/**
 * The parts of a sample as straight-line code, for one lane or two: every sum in the order `program.ts` lays down, structural zeros left out. What a
 * part hands on to the next stays in locals; what the next sample needs goes to memory as well.
 */
import { get } from '../../webassembly/index.ts';
import type { Expression, Local } from '../../webassembly/index.ts';
import type { SparseRows } from '../program.ts';
import { leastState, leastStepShare } from '../solver.ts';
import { moveCoreCode } from './core-code.ts';
import type { CoreFunctions } from './core-code.ts';
import { deviceCode } from './device-code.ts';
import { crossCode } from './factor-code.ts';
import type { Factored } from './factor-code.ts';
import { isAlwaysZero } from './kernel-structure.ts';
import type { KernelStructure } from './kernel-structure.ts';
import type { LaneCode } from './lane-code.ts';

/** Currents i, packed Jacobian (null: always 0). */
export interface Evaluated {
  readonly currents: readonly Expression[];
  readonly jacobian: readonly (Expression | null)[];
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

/** i and J as the last evaluation left them. */
export function loadDevices(code: LaneCode, structure: KernelStructure): Evaluated {
  return { currents: Array.from({ length: structure.currents }, (_, i) => code.load('currents', i)), jacobian: loadJacobian(code, structure) };
}

/** … and the factors over the ports. */
export function loadEvaluated(code: LaneCode, structure: KernelStructure): Evaluated & Factored {
  return {
    ...loadDevices(code, structure),
    factors: Array.from(structure.factorPlaces, (place) => (place < 0 ? null : code.load('factors', place))),
    inverses: Array.from({ length: structure.inverseCount }, (_, pair) => code.load('inverses', pair)),
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
  code: LaneCode, structure: KernelStructure, ports: readonly Expression[], portVolts: readonly Expression[], { currents }: Evaluated, { factors, inverses }: Factored, step: readonly Local[],
): void {
  const { lanes: { sub, mul } } = code;
  const { ports: m } = structure;
  const lessProducts = (start: Expression, row: number, from: number, to: number, values: readonly Expression[]): Expression => {
    let sum = start;
    for (let c = from; c < to; c += 1) {
      const factor = factors[row * m + c]!;
      if (factor !== null) sum = sub(sum, mul(factor, values[c]!));
    }
    return sum;
  };
  const right: Expression[] = [];
  for (let k = 0; k < m; k += 1) {
    right.push(code.keep(`f${k}`, lessProducts(residualCode(code, structure, k, ports, portVolts, currents), k, 0, k - (k & 1), right)));
    code.store('step', k, right[k]!);
  }
  const solved = step.map((g) => get(g));
  if ((m & 1) === 1) code.set(step[m - 1]!, mul(right[m - 1]!, inverses[m >> 1]!));
  for (let k = m - 2 - (m & 1); k >= 0; k -= 2) {
    const upper = code.keep('upper', lessProducts(right[k]!, k, k + 2, m, solved));
    const lower = code.keep('lower', lessProducts(right[k + 1]!, k + 1, k + 2, m, solved));
    const at = k * m + k;
    code.set(step[k]!, mul(crossCode(code, upper, factors[at + m + 1]!, lower, factors[at + 1]!) ?? code.constant(0), inverses[k >> 1]!));
    code.set(step[k + 1]!, mul(crossCode(code, lower, factors[at]!, upper, factors[at + m]!) ?? code.constant(0), inverses[k >> 1]!));
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
 * x of the next evaluation into `portVolts` and memory; lanes in `held` (null: none) keep theirs. In the first step of a sample (i32 `first`), the miss that is expected
 * is added where it is small.
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
        const miss = code.keep('miss', code.load('expectedMiss', k));
        const whole = lanes.eq(get(taken[k]!), get(step[k]!));
        const small = lanes.le(lanes.mul(code.constant(leastStepShare), lanes.abs(miss)), lanes.abs(get(taken[k]!)));
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

/**
 * v, i and J at x, also into memory. A core's memory may have moved on since x was evaluated: lanes in `held` (null: none) keep its i and J, where all other devices give theirs again.
 */
export function evaluateCode(
  code: LaneCode, structure: KernelStructure, cores: CoreFunctions | null, held: Expression | null, portVolts: readonly Expression[],
): Evaluated {
  const { lanes: { add, sub, mul, neg, choose } } = code;
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
    const values = deviceCode(code, shape, cores, volts);
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
    if (shape.core < 0 || held === null) continue;
    const { firstCurrent: i, firstJacobian: entry } = shape;
    currents[i] = code.keep('i', choose(held, code.load('currents', i), currents[i]!));
    jacobian[entry] = code.keep('g', choose(held, code.load('jacobian', entry), jacobian[entry]!));
  }
  currents.forEach((current, i) => code.store('currents', i, current));
  jacobian.forEach((slope, entry) => { if (slope !== null) code.store('jacobian', entry, slope); });
  return { currents, jacobian };
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

/** The memories of the cores move on to v + g. */
export function moveCoresCode(code: LaneCode, { devices, topology: { controlPorts, controlSigns } }: KernelStructure, cores: CoreFunctions | null, step: readonly Local[]): void {
  if (cores === null) return;
  const { lanes: { add, neg } } = code;
  for (const shape of devices) {
    if (shape.core < 0) continue;
    const { firstControl: k } = shape;
    const g = get(step[controlPorts[k]!]!);
    moveCoreCode(code, shape, cores, code.keep('flux', add(code.load('volts', k), controlSigns[k]! < 0 ? neg(g) : g)));
  }
}

/** New states, from the previous ones, into memory, the output, and the mask of lanes in which all of them are finite. */
export function advanceCode(
  code: LaneCode, { states: n, topology }: KernelStructure, input: Expression, corrected: readonly Expression[], largest: number,
): { readonly output: Expression; readonly finite: Expression } {
  const column = (c: number): Expression => (c === 0 ? input : c <= n ? code.load('previousStates', c - 1) : corrected[c - 1 - n]!);
  return storeNextCode(code, n, (row) => rowSum(code, topology.updateRows, row, 'updateConstants', 'updateCoefficients', column), largest);
}

/** Rows 0 … n − 1 as states into memory, row n as the output, and the mask of lanes in which all of them are finite. */
export function storeNextCode(
  code: LaneCode, n: number, sum: (row: number) => Expression, largest: number,
): { readonly output: Expression; readonly finite: Expression } {
  const { lanes } = code;
  const next = (row: number): Expression => code.keep(row === n ? 'y' : `z${row}`, sum(row));
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
