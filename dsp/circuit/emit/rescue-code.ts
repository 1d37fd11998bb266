/** `rescue.ts` as code for one lane: functions of their own, since they hardly ever run. */
import {
  again, call, callOnly, defineFunction, f64, get, giveBack, i32, label, leave, load, local, operation, repeat, scalarLane, select, set, store, when,
} from '../../webassembly/index.ts';
import type { Expression, FunctionCode, Local, Statement } from '../../webassembly/index.ts';
import { rescueLimits } from '../rescue.ts';
import type { CoreFunctions } from './core-code.ts';
import type { KernelStructure } from './kernel-structure.ts';
import { LaneCode } from './lane-code.ts';
import type { MemoryLayout } from './memory-layout.ts';
import { evaluateCode, loadDevices } from './newton-code.ts';
import { buildFunction, pivotedStepFunction } from './pivoted-step-code.ts';
import { factorSolvable } from './solve-form-code.ts';

const { add, sub, mul, div, abs, lt, gt, ge, le, ne } = scalarLane;
const { dampedSteps, freeSteps, leastDamping, divergedError, firstPart, leastPart, mostEvaluations } = rescueLimits;

/** All take (base, lane): addresses of the shared numbers and of the lane's. */
export interface RescueFunctions {
  /** v, i, J at x, counted. */
  readonly evaluate: FunctionCode;
  /** Factors of what runs. */
  readonly factor: FunctionCode;
  /** i32: 1 if x, i, J and `step` are those of a solution of `ports`. */
  readonly rescue: FunctionCode;
  readonly all: readonly FunctionCode[];
}

export function rescueFunctions(structure: KernelStructure, layout: MemoryLayout, cores: CoreFunctions | null, limitPorts: FunctionCode): RescueFunctions {
  const evaluate = evaluateFunction(structure, layout, cores);
  const factor = factorFunction(structure, layout);
  const build = buildFunction(structure, layout);
  const pivotedStep = pivotedStepFunction(structure, layout, build);
  const newton = newtonFunction(structure, layout, pivotedStep, limitPorts, evaluate);
  const rescue = rescueFunction(structure, layout, evaluate, factor, newton);
  return { evaluate, factor, rescue, all: [evaluate, factor, build, pivotedStep, newton, rescue] };
}

interface LaneFunction {
  readonly code: LaneCode;
  readonly itself: FunctionCode;
  /** `base` and `lane`, to be handed on. */
  readonly both: readonly [Expression, Expression];
}

function laneFunction(name: string, layout: MemoryLayout, result: 'i32' | null = null): LaneFunction {
  const base = local('i32', 'base');
  const lane = local('i32', 'lane');
  const code = new LaneCode(scalarLane, layout, get(base), get(lane));
  return { code, itself: defineFunction(name, [base, lane], result), both: [get(base), get(lane)] };
}

function evaluateFunction(structure: KernelStructure, layout: MemoryLayout, cores: CoreFunctions | null): FunctionCode {
  const { code, itself } = laneFunction('evaluate', layout);
  code.store('evaluationsNow', 0, add(code.load('evaluationsNow'), f64(1)));
  evaluateCode(code, structure, cores, null, Array.from({ length: structure.ports }, (_, k) => code.keep('x', code.load('portVolts', k))));
  itself.body.push(...code.statements);
  return itself;
}

function factorFunction(structure: KernelStructure, layout: MemoryLayout): FunctionCode {
  const { code, itself } = laneFunction('factor', layout);
  factorSolvable(code, structure, [], loadDevices(code, structure));
  itself.body.push(...code.statements);
  return itself;
}

function newtonFunction(
  { ports: m }: KernelStructure, layout: MemoryLayout, pivotedStep: FunctionCode, limitPorts: FunctionCode, evaluate: FunctionCode,
): FunctionCode {
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
    const diverged = operation('i32.eqz', lt(get(error), f64(divergedError)));
    push(
      when(lt(get(error), code.shared('tolerance')), [giveBack(i32(1))]),
      when(operation('i32.or', diverged, operation('i32.eq', get(taken), i32(dampedSteps))), [giveBack(i32(0))]),
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

function rescueFunction(
  structure: KernelStructure, layout: MemoryLayout, evaluate: FunctionCode, factor: FunctionCode, newton: FunctionCode,
): FunctionCode {
  const { code, itself, both } = laneFunction('rescue', layout, 'i32');
  const memory = new WayMemory(code);
  const ports = Array.from({ length: structure.ports }, (_, k) => k);
  const converged = local('i32', 'converged');
  code.statements.push(memory.count('rescues'));
  for (const k of ports) {
    code.statements.push(memory.setScratch('wanted', k, code.load('ports', k)), memory.setLane('portVolts', k, code.load('startPortVolts', k)));
  }
  code.statements.push(callOnly(evaluate, ...both));
  keepSolvedPorts(code, structure, memory);
  const done = local('f64', 'done');
  code.statements.push(
    set(converged, call(newton, ...both)),
    when(operation('i32.eqz', get(converged)), [
      ...walk(code, ports, memory, done, call(newton, ...both), callOnly(evaluate, ...both)),
      set(converged, operation('f64.eq', get(done), f64(1))),
      when(operation('i32.eqz', get(converged)), [
        ...ports.map((k) => memory.setLane('portVolts', k, memory.scratch('goodVolts', k))),
        callOnly(evaluate, ...both),
        memory.count('capHits'),
      ]),
      ...ports.map((k) => memory.setLane('ports', k, memory.scratch('wanted', k))),
    ]),
    callOnly(factor, ...both),
    giveBack(get(converged)),
  );
  itself.body.push(...code.statements);
  return itself;
}

/** What the way from the solved to the wanted ports is walked with. */
class WayMemory {
  readonly #code: LaneCode;

  constructor(code: LaneCode) {
    this.#code = code;
  }

  scratch(section: 'wanted' | 'solved' | 'goodVolts', k: number): Expression {
    return load('f64.load', this.#code.base, this.#code.layout.scratch[section] + 8 * k);
  }
  setScratch(section: 'wanted' | 'solved' | 'goodVolts', k: number, value: Expression): Statement {
    return store('f64.store', this.#code.base, this.#code.layout.scratch[section] + 8 * k, value);
  }
  setLane(section: 'portVolts' | 'ports', k: number, value: Expression): Statement {
    const { lane, layout } = this.#code;
    return store('f64.store', lane, layout.lane[section] + layout.laneBytes * k, value);
  }
  count(counter: 'rescues' | 'capHits'): Statement {
    const { lane, layout } = this.#code;
    return store('f64.store', lane, layout.lane[counter], add(this.#code.load(counter), f64(1)));
  }
}

/** x − K i, which the x at the start of the sample solves. */
function keepSolvedPorts(code: LaneCode, { topology: { eliminationOrder, feedbackRows: { starts, columns } } }: KernelStructure, memory: WayMemory): void {
  for (const row of eliminationOrder) {
    let sum = code.load('portVolts', row);
    for (let entry = starts[row]!; entry < starts[row + 1]!; entry += 1) {
      sum = sub(sum, mul(code.shared('feedback', entry), code.load('currents', columns[entry]!)));
    }
    code.statements.push(memory.setScratch('solved', row, sum));
  }
}

/** The way in pieces; `done` is 1 where its end was reached. */
function walk(code: LaneCode, ports: readonly number[], memory: WayMemory, done: Local, newton: Expression, evaluate: Statement): readonly Statement[] {
  const [part, target] = [local('f64', 'part'), local('f64', 'target')];
  const way = label('way');
  const longEnough = operation('i32.and', lt(get(done), f64(1)), ge(get(part), f64(leastPart)));
  const onward = operation('i32.and', longEnough, le(code.load('evaluationsNow'), f64(mostEvaluations)));
  const between = (k: number): Expression => {
    const solved = memory.scratch('solved', k);
    const wanted = memory.scratch('wanted', k);
    return select(operation('f64.eq', get(target), f64(1)), wanted, add(solved, mul(get(target), sub(wanted, solved))));
  };
  return [
    set(done, f64(0)),
    set(part, f64(firstPart)),
    ...ports.map((k) => memory.setScratch('goodVolts', k, code.load('startPortVolts', k))),
    repeat(way, [
      when(operation('i32.eqz', onward), [leave(way)]),
      set(target, add(get(done), get(part))),
      set(target, select(lt(get(target), f64(1)), get(target), f64(1))),
      ...ports.flatMap((k) => [memory.setLane('ports', k, between(k)), memory.setLane('portVolts', k, memory.scratch('goodVolts', k))]),
      evaluate,
      when(
        newton,
        [set(done, get(target)), set(part, mul(get(part), f64(2))), ...ports.map((k) => memory.setScratch('goodVolts', k, code.load('portVolts', k)))],
        [set(part, div(get(part), f64(4)))],
      ),
      again(way),
    ]),
  ];
}
