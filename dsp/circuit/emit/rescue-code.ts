/** `rescue.ts` as code for one lane: functions of their own, since they hardly ever run. Loops where the loop has them, to keep the module small. */
import {
  again, call, callOnly, countUp, defineFunction, f64, get, giveBack, i32, label, leave, load, local, operation, repeat, scalarLane, select, set, store, when,
} from '../../webassembly/index.ts';
import type { Expression, FunctionCode, Statement } from '../../webassembly/index.ts';
import { rescueLimits } from '../rescue.ts';
import type { KernelStructure } from './kernel-structure.ts';
import { LaneCode } from './lane-code.ts';
import type { MemoryLayout } from './memory-layout.ts';
import { factorCode, newtonRowCode } from './factor-code.ts';
import { evaluateCode, loadEvaluated, loadJacobian, residualCode } from './newton-code.ts';

const { add, sub, mul, div, abs, lt, gt, ge, le, ne } = scalarLane;
const { dampedSteps, freeSteps, leastDamping, divergedError, firstPart, leastPart, mostEvaluations } = rescueLimits;

/** All take (base, lane): addresses of the shared numbers and of the lane's. */
export interface RescueFunctions {
  /** v, i, J at x, counted. */
  readonly evaluate: FunctionCode;
  /** Factors of I − K J. */
  readonly factor: FunctionCode;
  /** i32: 1 if x, i, J and `step` are those of a solution of `ports`. */
  readonly rescue: FunctionCode;
  readonly all: readonly FunctionCode[];
}

export function rescueFunctions(structure: KernelStructure, layout: MemoryLayout, limitPorts: FunctionCode): RescueFunctions {
  const evaluate = evaluateFunction(structure, layout);
  const factor = factorFunction(structure, layout);
  const build = buildFunction(structure, layout);
  const pivotedStep = pivotedStepFunction(structure, layout, build);
  const newton = newtonFunction(structure, layout, pivotedStep, limitPorts, evaluate);
  const rescue = rescueFunction(structure, layout, evaluate, factor, newton);
  return { evaluate, factor, rescue, all: [evaluate, factor, build, pivotedStep, newton, rescue] };
}

function laneFunction(name: string, layout: MemoryLayout, result: 'i32' | null = null): { readonly code: LaneCode; readonly itself: FunctionCode; readonly both: readonly [Expression, Expression] } {
  const base = local('i32', 'base');
  const lane = local('i32', 'lane');
  const code = new LaneCode(scalarLane, layout, get(base), get(lane));
  return { code, itself: defineFunction(name, [base, lane], result), both: [get(base), get(lane)] };
}

function evaluateFunction(structure: KernelStructure, layout: MemoryLayout): FunctionCode {
  const { code, itself } = laneFunction('evaluate', layout);
  code.store('evaluationsNow', 0, add(code.load('evaluationsNow'), f64(1)));
  evaluateCode(code, structure, Array.from({ length: structure.ports }, (_, k) => code.keep('x', code.load('portVolts', k))));
  itself.body.push(...code.statements);
  return itself;
}

function factorFunction(structure: KernelStructure, layout: MemoryLayout): FunctionCode {
  const { code, itself } = laneFunction('factor', layout);
  factorCode(code, structure, loadJacobian(code, structure));
  itself.body.push(...code.statements);
  return itself;
}

/** I − K J, in full, and the residual, in elimination order, into scratch. */
function buildFunction(structure: KernelStructure, layout: MemoryLayout): FunctionCode {
  const { code, itself } = laneFunction('build', layout);
  const { ports: m } = structure;
  const loaded = loadEvaluated(code, structure);
  for (let k = 0; k < m; k += 1) {
    newtonRowCode(code, structure, k, loaded.jacobian).forEach((entry, port) => code.statements.push(store('f64.store', code.base, layout.scratch.matrix + 8 * (k * m + port), entry ?? f64(0))));
  }
  const ports = Array.from({ length: m }, (_, k) => code.load('ports', k));
  const portVolts = Array.from({ length: m }, (_, k) => code.load('portVolts', k));
  for (let k = 0; k < m; k += 1) code.statements.push(store('f64.store', code.base, layout.scratch.rightSide + 8 * k, residualCode(code, structure, k, ports, portVolts, loaded.currents)));
  itself.body.push(...code.statements);
  return itself;
}

/** Counters run in bytes: rows by 8 m, columns by 8. */
function pivotedStepFunction({ ports: m }: KernelStructure, layout: MemoryLayout, build: FunctionCode): FunctionCode {
  const { code, itself, both } = laneFunction('pivotedStep', layout, 'i32');
  const matrixAt = layout.scratch.matrix;
  const rightAt = layout.scratch.rightSide;
  const solutionAt = layout.scratch.solution;
  const [base, lane] = both;
  const rowBytes = 8 * m;
  const end = i32(rowBytes);
  const plus = (...parts: readonly Expression[]): Expression => parts.reduce((a, b) => operation('i32.add', a, b));
  const times = (a: Expression, factor: number): Expression => operation('i32.mul', a, i32(factor));
  const k = local('i32', 'k');
  const row = local('i32', 'row');
  const best = local('i32', 'best');
  const c = local('i32', 'c');
  const pivot = local('f64', 'pivot');
  const kept = local('f64', 'kept');
  const multiplier = local('f64', 'multiplier');
  const sum = local('f64', 'sum');
  const entryAddress = (r: Expression, column: Expression): Expression => plus(base, times(r, m), column);
  const entry = (r: Expression, column: Expression): Expression => load('f64.load', entryAddress(r, column), matrixAt);
  const setEntry = (r: Expression, column: Expression, value: Expression): Statement => store('f64.store', entryAddress(r, column), matrixAt, value);
  const right = (r: Expression): Expression => load('f64.load', plus(base, r), rightAt);
  const setRight = (r: Expression, value: Expression): Statement => store('f64.store', plus(base, r), rightAt, value);
  const next = (index: Expression): Expression => plus(index, i32(8));
  code.statements.push(
    callOnly(build, ...both),
    ...countUp(k, i32(0), end, 8, [
      set(best, get(k)),
      ...countUp(row, next(get(k)), end, 8, [when(gt(abs(entry(get(row), get(k))), abs(entry(get(best), get(k)))), [set(best, get(row))])]),
      set(pivot, entry(get(best), get(k))),
      when(operation('i32.eqz', gt(abs(get(pivot)), f64(0))), [giveBack(i32(0))]),
      ...countUp(c, i32(0), end, 8, [
        set(kept, entry(get(k), get(c))),
        setEntry(get(k), get(c), entry(get(best), get(c))),
        setEntry(get(best), get(c), get(kept)),
      ]),
      set(kept, right(get(k))),
      setRight(get(k), right(get(best))),
      setRight(get(best), get(kept)),
      ...countUp(row, next(get(k)), end, 8, [
        set(multiplier, div(entry(get(row), get(k)), get(pivot))),
        ...countUp(c, next(get(k)), end, 8, [setEntry(get(row), get(c), sub(entry(get(row), get(c)), mul(get(multiplier), entry(get(k), get(c)))))]),
        setRight(get(row), sub(right(get(row)), mul(get(multiplier), right(get(k))))),
      ]),
    ]),
  );
  const upwards = label('upwards');
  const steps = countUp(c, next(get(k)), end, 8, [set(sum, sub(get(sum), mul(entry(get(k), get(c)), load('f64.load', plus(base, get(c)), solutionAt))))]);
  code.statements.push(
    set(k, i32(rowBytes - 8)),
    repeat(upwards, [
      when(operation('i32.lt_s', get(k), i32(0)), [leave(upwards)]),
      set(sum, right(get(k))),
      ...steps,
      store('f64.store', plus(base, get(k)), solutionAt, div(get(sum), entry(get(k), get(k)))),
      set(k, operation('i32.sub', get(k), i32(8))),
      again(upwards),
    ]),
  );
  for (let port = 0; port < m; port += 1) code.statements.push(store('f64.store', lane, layout.lane.step + layout.laneBytes * port, load('f64.load', base, solutionAt + 8 * port)));
  itself.body.push(...code.statements, giveBack(i32(1)));
  return itself;
}

function newtonFunction({ ports: m }: KernelStructure, layout: MemoryLayout, pivotedStep: FunctionCode, limitPorts: FunctionCode, evaluate: FunctionCode): FunctionCode {
  const { code, itself, both } = laneFunction('newton', layout, 'i32');
  const [base] = both;
  const taken = local('i32', 'taken');
  const damping = local('f64', 'damping');
  const error = local('f64', 'error');
  const previousError = local('f64', 'previousError');
  const turn = local('f64', 'turn');
  const loop = label('newton');
  const previous = (k: number): Expression => load('f64.load', base, layout.scratch.previousStep + 8 * k);
  code.statements.push(set(taken, i32(0)), set(damping, f64(1)), set(previousError, f64(Infinity)));
  const body = code.block(() => {
    const push = (...statements: readonly Statement[]): void => { code.statements.push(...statements); };
    push(when(operation('i32.eqz', call(pivotedStep, ...both)), [giveBack(i32(0))]), set(error, f64(0)), set(turn, f64(0)));
    for (let k = 0; k < m; k += 1) {
      const scaled = code.keep('scaled', mul(code.load('step', k), code.shared('inverseScale', k)));
      const magnitude = code.keep('magnitude', abs(scaled));
      push(
        set(error, select(operation('i32.or', gt(magnitude, get(error)), ne(magnitude, magnitude)), magnitude, get(error))),
        set(turn, add(get(turn), mul(scaled, mul(previous(k), code.shared('inverseScale', k))))),
      );
    }
    const halved = div(get(damping), f64(2));
    const raised = mul(f64(1.5), get(damping));
    push(
      when(lt(get(error), code.shared('tolerance')), [giveBack(i32(1))]),
      when(operation('i32.or', operation('i32.eqz', lt(get(error), f64(divergedError))), operation('i32.eq', get(taken), i32(dampedSteps))), [giveBack(i32(0))]),
      when(operation('i32.ge_s', get(taken), i32(freeSteps)), [
        set(damping, select(
          operation('i32.and', lt(get(turn), f64(0)), gt(get(error), div(get(previousError), f64(2)))),
          select(gt(halved, f64(leastDamping)), halved, f64(leastDamping)),
          select(lt(raised, f64(1)), raised, f64(1)),
        )),
      ]),
      callOnly(limitPorts, ...both),
    );
    for (let k = 0; k < m; k += 1) {
      code.store('portVolts', k, add(code.load('portVolts', k), mul(get(damping), code.load('limitedStep', k))));
      push(store('f64.store', base, layout.scratch.previousStep + 8 * k, code.load('step', k)));
    }
    push(set(previousError, get(error)), callOnly(evaluate, ...both), set(taken, operation('i32.add', get(taken), i32(1))), again(loop));
  });
  itself.body.push(...code.statements, repeat(loop, body));
  return itself;
}

function rescueFunction(structure: KernelStructure, layout: MemoryLayout, evaluate: FunctionCode, factor: FunctionCode, newton: FunctionCode): FunctionCode {
  const { code, itself, both } = laneFunction('rescue', layout, 'i32');
  const { ports: m, topology: { eliminationOrder, feedbackRows: { starts, columns } } } = structure;
  const [base] = both;
  const ports = Array.from({ length: m }, (_, k) => k);
  const scratch = (section: 'wanted' | 'solved' | 'goodVolts', k: number): Expression => load('f64.load', base, layout.scratch[section] + 8 * k);
  const keepScratch = (section: 'wanted' | 'solved' | 'goodVolts', k: number, value: Expression): Statement => store('f64.store', base, layout.scratch[section] + 8 * k, value);
  const laneStore = (section: 'portVolts' | 'ports', k: number, value: Expression): Statement => store('f64.store', code.lane, layout.lane[section] + layout.laneBytes * k, value);
  const count = (section: 'rescues' | 'capHits'): Statement => store('f64.store', code.lane, layout.lane[section], add(code.load(section), f64(1)));
  const converged = local('i32', 'converged');
  const done = local('f64', 'done');
  const part = local('f64', 'part');
  const target = local('f64', 'target');
  const way = label('way');

  code.statements.push(count('rescues'));
  for (const k of ports) code.statements.push(keepScratch('wanted', k, code.load('ports', k)), laneStore('portVolts', k, code.load('startPortVolts', k)));
  code.statements.push(callOnly(evaluate, ...both));
  for (const row of eliminationOrder) {
    let sum = code.load('portVolts', row);
    for (let entry = starts[row]!; entry < starts[row + 1]!; entry += 1) sum = sub(sum, mul(code.shared('feedback', entry), code.load('currents', columns[entry]!)));
    code.statements.push(keepScratch('solved', row, sum));
  }
  const onward = operation('i32.and', operation('i32.and', lt(get(done), f64(1)), ge(get(part), f64(leastPart))), le(code.load('evaluationsNow'), f64(mostEvaluations)));
  code.statements.push(
    set(converged, call(newton, ...both)),
    when(operation('i32.eqz', get(converged)), [
      set(done, f64(0)),
      set(part, f64(firstPart)),
      ...ports.map((k) => keepScratch('goodVolts', k, code.load('startPortVolts', k))),
      repeat(way, [
        when(operation('i32.eqz', onward), [leave(way)]),
        set(target, add(get(done), get(part))),
        set(target, select(lt(get(target), f64(1)), get(target), f64(1))),
        ...ports.flatMap((k) => [
          laneStore('ports', k, select(
            operation('f64.eq', get(target), f64(1)),
            scratch('wanted', k),
            add(scratch('solved', k), mul(get(target), sub(scratch('wanted', k), scratch('solved', k)))),
          )),
          laneStore('portVolts', k, scratch('goodVolts', k)),
        ]),
        callOnly(evaluate, ...both),
        when(
          call(newton, ...both),
          [set(done, get(target)), set(part, mul(get(part), f64(2))), ...ports.map((k) => keepScratch('goodVolts', k, code.load('portVolts', k)))],
          [set(part, div(get(part), f64(4)))],
        ),
        again(way),
      ]),
      set(converged, operation('f64.eq', get(done), f64(1))),
      when(operation('i32.eqz', get(converged)), [
        ...ports.map((k) => laneStore('portVolts', k, scratch('goodVolts', k))),
        callOnly(evaluate, ...both),
        count('capHits'),
      ]),
      ...ports.map((k) => laneStore('ports', k, scratch('wanted', k))),
    ]),
    callOnly(factor, ...both),
    giveBack(get(converged)),
  );
  itself.body.push(...code.statements);
  return itself;
}
