/**
 * The rescue's own elimination, with row exchanges, as code for one lane (`Rescue.pivotedStep`): loops, since it hardly ever runs and a module should be
 * small.
 */
import {
  again, callOnly, countUp, defineFunction, f64, get, giveBack, i32, label, leave, load, local, operation, repeat, scalarLane, set, store, when,
} from '../../webassembly/index.ts';
import type { Expression, FunctionCode, Local, Statement } from '../../webassembly/index.ts';
import { newtonRowCode } from './factor-code.ts';
import type { KernelStructure } from './kernel-structure.ts';
import { LaneCode } from './lane-code.ts';
import type { MemoryLayout } from './memory-layout.ts';
import { loadDevices, residualCode } from './newton-code.ts';

const { sub, mul, div, abs, gt } = scalarLane;

/** build(base, lane): I − K J, in full, and the residual, in elimination order, into scratch. */
export function buildFunction(structure: KernelStructure, layout: MemoryLayout): FunctionCode {
  const [base, lane] = [local('i32', 'base'), local('i32', 'lane')];
  const code = new LaneCode(scalarLane, layout, get(base), get(lane));
  const { ports: m } = structure;
  const { matrix, rightSide } = layout.scratch;
  const put = (offset: number, value: Expression): void => { code.statements.push(store('f64.store', code.base, offset, value)); };
  const loaded = loadDevices(code, structure);
  for (let k = 0; k < m; k += 1) newtonRowCode(code, structure, k, loaded.jacobian).forEach((entry, port) => put(matrix + 8 * (k * m + port), entry ?? f64(0)));
  const ports = Array.from({ length: m }, (_, k) => code.load('ports', k));
  const portVolts = Array.from({ length: m }, (_, k) => code.load('portVolts', k));
  for (let k = 0; k < m; k += 1) put(rightSide + 8 * k, residualCode(code, structure, k, ports, portVolts, loaded.currents));
  const itself = defineFunction('build', [base, lane]);
  itself.body.push(...code.statements);
  return itself;
}

/** Scratch of the elimination by row and column, whose counters run in bytes: rows by 8 m, columns by 8. */
class Scratch {
  readonly #base: Expression;
  readonly #m: number;
  readonly #scratch: MemoryLayout['scratch'];

  constructor(base: Expression, m: number, scratch: MemoryLayout['scratch']) {
    this.#base = base;
    this.#m = m;
    this.#scratch = scratch;
  }

  entry(row: Local, column: Local): Expression {
    return load('f64.load', this.#entryAddress(row, column), this.#scratch.matrix);
  }
  setEntry(row: Local, column: Local, value: Expression): Statement {
    return store('f64.store', this.#entryAddress(row, column), this.#scratch.matrix, value);
  }
  right(row: Local): Expression {
    return load('f64.load', this.#rowAddress(row), this.#scratch.rightSide);
  }
  setRight(row: Local, value: Expression): Statement {
    return store('f64.store', this.#rowAddress(row), this.#scratch.rightSide, value);
  }
  solution(row: Local): Expression {
    return load('f64.load', this.#rowAddress(row), this.#scratch.solution);
  }
  setSolution(row: Local, value: Expression): Statement {
    return store('f64.store', this.#rowAddress(row), this.#scratch.solution, value);
  }

  #rowAddress(row: Local): Expression {
    return operation('i32.add', this.#base, get(row));
  }
  #entryAddress(row: Local, column: Local): Expression {
    return operation('i32.add', operation('i32.add', this.#base, operation('i32.mul', get(row), i32(this.#m))), get(column));
  }
}

const next = (index: Local): Expression => operation('i32.add', get(index), i32(8));

/** pivotedStep(base, lane) → i32: `step` of what `build` leaves, 1; or 0, singular. */
export function pivotedStepFunction({ ports: m }: KernelStructure, layout: MemoryLayout, build: FunctionCode): FunctionCode {
  const [base, lane] = [local('i32', 'base'), local('i32', 'lane')];
  const scratch = new Scratch(get(base), m, layout.scratch);
  const itself = defineFunction('pivotedStep', [base, lane], 'i32');
  const [k, column] = [local('i32', 'k'), local('i32', 'c')];
  itself.body.push(callOnly(build, get(base), get(lane)), ...eliminate(scratch, m, k, column), ...substituteBack(scratch, m, k, column));
  for (let port = 0; port < m; port += 1) {
    const solved = load('f64.load', get(base), layout.scratch.solution + 8 * port);
    itself.body.push(store('f64.store', get(lane), layout.lane.step + layout.laneBytes * port, solved));
  }
  itself.body.push(giveBack(i32(1)));
  return itself;
}

/** To upper triangular form; rows exchanged by magnitude, ties to the lower row. Gives back 0 where a pivot is 0. */
function eliminate(scratch: Scratch, m: number, k: Local, column: Local): readonly Statement[] {
  const [row, best] = [local('i32', 'row'), local('i32', 'best')];
  const [pivot, kept, multiplier] = [local('f64', 'pivot'), local('f64', 'kept'), local('f64', 'multiplier')];
  const end = i32(8 * m);
  return countUp(k, i32(0), end, 8, [
    set(best, get(k)),
    ...countUp(row, next(k), end, 8, [when(gt(abs(scratch.entry(row, k)), abs(scratch.entry(best, k))), [set(best, get(row))])]),
    set(pivot, scratch.entry(best, k)),
    when(operation('i32.eqz', gt(abs(get(pivot)), f64(0))), [giveBack(i32(0))]),
    ...countUp(column, i32(0), end, 8, [
      set(kept, scratch.entry(k, column)),
      scratch.setEntry(k, column, scratch.entry(best, column)),
      scratch.setEntry(best, column, get(kept)),
    ]),
    set(kept, scratch.right(k)),
    scratch.setRight(k, scratch.right(best)),
    scratch.setRight(best, get(kept)),
    ...countUp(row, next(k), end, 8, [
      set(multiplier, div(scratch.entry(row, k), get(pivot))),
      ...countUp(column, next(k), end, 8, [
        scratch.setEntry(row, column, sub(scratch.entry(row, column), mul(get(multiplier), scratch.entry(k, column)))),
      ]),
      scratch.setRight(row, sub(scratch.right(row), mul(get(multiplier), scratch.right(k)))),
    ]),
  ]);
}

function substituteBack(scratch: Scratch, m: number, k: Local, column: Local): readonly Statement[] {
  const upwards = label('upwards');
  const sum = local('f64', 'sum');
  return [
    set(k, i32(8 * m - 8)),
    repeat(upwards, [
      when(operation('i32.lt_s', get(k), i32(0)), [leave(upwards)]),
      set(sum, scratch.right(k)),
      ...countUp(column, next(k), i32(8 * m), 8, [set(sum, sub(get(sum), mul(scratch.entry(k, column), scratch.solution(column))))]),
      scratch.setSolution(k, div(get(sum), scratch.entry(k, k))),
      set(k, operation('i32.sub', get(k), i32(8))),
      again(upwards),
    ]),
  ];
}
