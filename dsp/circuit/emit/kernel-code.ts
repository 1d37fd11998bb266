/**
 * One sample after the other for one lane or two: the solver of `solver.ts`, written out for one structure. Lanes share instructions and branches,
 * never numbers: a lane that has converged keeps its x, so that computing it again gives the same bits; a lane that needs the rescue is finished
 * alone.
 */
import {
  again, callOnly, countUp, defineFunction, f64, functionOf, get, i32, label, laneOperation, leave, load, local, logCode, operation, repeat, scalarLane, set, store, when,
} from '../../webassembly/index.ts';
import type { Expression, FunctionCode, Lanes, Local, ModuleCode, Statement } from '../../webassembly/index.ts';
import { largestInput, largestState, plainSteps } from '../solver.ts';
import { coreFunctions } from './core-code.ts';
import type { CoreFunctions } from './core-code.ts';
import { finishFunction } from './finish-code.ts';
import type { KernelStructure } from './kernel-structure.ts';
import { LaneCode } from './lane-code.ts';
import { limitControlCode, limitPortsCode } from './limit-code.ts';
import { memoryLayout } from './memory-layout.ts';
import type { MemoryLayout } from './memory-layout.ts';
import {
  advanceCode, convergedCode, correctCurrentsCode, evaluateCode, freeCode, loadDevices, loadJacobian, moveCoresCode, takeStepCode,
} from './newton-code.ts';
import { advanceNodalCode } from './nodal-code.ts';
import { rescueFunctions } from './rescue-code.ts';
import { factorSolvable, loadSolvable, predictCode } from './solve-form-code.ts';

/**
 * Exports, all addresses in bytes: `run(base, left, right, frames)`, in place; with one lane `run(base, samples, frames)`; `settle(base, lane)`: i, J
 * and factors of the lane at address `lane` (`base` + 8 · its number) from its x; not counted.
 */
export function kernelCode(structure: KernelStructure, lanes: Lanes): ModuleCode {
  const layout = memoryLayout(structure, lanes.bytes);
  const logarithm = functionOf('log', scalarLane, logCode);
  const limitControl = limitControlCode(logarithm);
  const limitPorts = limitPortsCode(structure, layout, limitControl);
  const cores = coreFunctions(structure, layout);
  const rescue = rescueFunctions(structure, layout, cores, limitPorts);
  const finish = finishFunction(structure, layout, limitPorts, rescue);
  const rest = restFunction(layout);
  const settle = settleFunction(rescue.evaluate, rescue.factor);
  const advancePorts = structure.topology.nodal === null ? null : advancePortsFunction(structure, layout);
  const run = runFunction(structure, layout, lanes, { limitPorts, finish, rest, cores, advancePorts });
  return { functions: [logarithm, limitControl, limitPorts, ...(cores?.all ?? []), ...rescue.all, finish, rest, settle, ...(advancePorts ? [advancePorts] : []), run], exports: { run, settle } };
}

/** rest(base, lane): the lane's lasting numbers but for its counters from the image. */
function restFunction(layout: MemoryLayout): FunctionCode {
  const base = local('i32', 'base');
  const lane = local('i32', 'lane');
  const k = local('i32', 'k');
  const itself = defineFunction('rest', [base, lane]);
  const { laneBytes, imageCount, shared: { restImage } } = layout;
  const at = (address: Local): Expression => operation('i32.add', get(address), get(k));
  itself.body.push(...countUp(k, i32(0), i32(laneBytes * imageCount), laneBytes, [store('f64.store', at(lane), 0, load('f64.load', at(base), restImage))]));
  return itself;
}

/** advance ports(base, lane): new states and output of a lane over the ports, c = i + J g, from what a rescue left. */
function advancePortsFunction(structure: KernelStructure, layout: MemoryLayout): FunctionCode {
  const base = local('i32', 'base');
  const lane = local('i32', 'lane');
  const code = new LaneCode(scalarLane, layout, get(base), get(lane));
  const step = Array.from({ length: structure.ports }, (_, k) => code.variable(`g${k}`));
  step.forEach((g, k) => code.set(g, code.load('step', k)));
  const corrected = correctCurrentsCode(code, structure, loadDevices(code, structure), step);
  code.store('output', 0, advanceCode(code, structure, code.load('input'), corrected, largestState).output);
  const itself = defineFunction('advance ports', [base, lane]);
  itself.body.push(...code.statements);
  return itself;
}

/** Mask: states and output are finite. */
function finiteCode(code: LaneCode, structure: KernelStructure, output: Expression): Expression {
  const { lanes } = code;
  const limit = code.constant(largestState);
  return Array.from({ length: structure.states }, (_, k) => lanes.le(lanes.abs(code.load('states', k)), limit)).reduce((all, mask) => lanes.and(all, mask), lanes.le(lanes.abs(output), limit));
}

function settleFunction(evaluate: FunctionCode, factor: FunctionCode): FunctionCode {
  const base = local('i32', 'base');
  const lane = local('i32', 'lane');
  const itself = defineFunction('settle', [base, lane]);
  itself.body.push(callOnly(evaluate, get(base), get(lane)), callOnly(factor, get(base), get(lane)));
  return itself;
}

interface Helpers {
  readonly limitPorts: FunctionCode;
  readonly finish: FunctionCode;
  readonly rest: FunctionCode;
  readonly cores: CoreFunctions | null;
  /** Of a nodal form. */
  readonly advancePorts: FunctionCode | null;
}

function runFunction(structure: KernelStructure, layout: MemoryLayout, lanes: Lanes, { limitPorts, finish, rest, cores, advancePorts }: Helpers): FunctionCode {
  const base = local('i32', 'base');
  const pointers = lanes.count === 2 ? [local('i32', 'left'), local('i32', 'right')] : [local('i32', 'samples')];
  const frames = local('i32', 'frames');
  const at = local('i32', 'at');
  const code = new LaneCode(lanes, layout, get(base));
  const ports = Array.from({ length: structure.ports }, (_, k) => k);
  const step = ports.map((k) => code.variable(`g${k}`));
  const taken = ports.map((k) => code.variable(`taken${k}`));
  const portVolts = ports.map((k) => code.variable(`x${k}`));
  const maskType = lanes.count === 2 ? 'v128' : 'i32';
  const { nodal } = structure.topology;
  const converged = local(maskType, 'converged');
  const finite = local(maskType, 'finite');
  const usable = local(maskType, 'usable');
  const predictedAlone = local(maskType, 'predictedAlone');
  const steps = local('i32', 'steps');
  const alone = local('i32', 'alone');
  const evaluations = code.variable('evaluations');
  const loop = label('newton');
  const push = (...statements: readonly Statement[]): void => { code.statements.push(...statements); };
  const laneAddress = (lane: number): Expression => operation('i32.add', get(base), i32(8 * lane));
  const eachLane = (write: (lane: number) => void): void => { for (let lane = 0; lane < lanes.count; lane += 1) write(lane); };
  const addAt = (section: 'evaluations' | 'nonFinite', value: Expression): void => code.store(section, 0, lanes.add(code.load(section), value));

  const sample = code.block(() => {
    // Input.
    const addresses = pointers.map((pointer) => operation('i32.add', get(pointer), get(at)));
    const given = code.keep('given', lanes.count === 1
      ? load('f64.load', addresses[0]!)
      : laneOperation('f64x2.replace_lane', 1, load('v128.load64_splat', addresses[0]!), load('f64.load', addresses[1]!)));
    const sound = code.keep('sound', lanes.le(lanes.abs(given), code.constant(largestInput)));
    const input = code.variable('u');
    code.set(input, given);
    code.when(code.fails(sound), () => {
      code.set(input, lanes.choose(sound, given, code.constant(0)));
      addAt('nonFinite', lanes.choose(sound, code.constant(0), code.constant(1)));
    });

    // The tangent.
    const states = Array.from({ length: structure.states }, (_, k) => code.keep(`z${k}`, code.load('states', k)));
    states.forEach((z, k) => code.store('previousStates', k, z));
    const predicted = predictCode(code, structure, get(input), states);
    const before = loadSolvable(code, structure, predicted);
    before.solve(ports.map((k) => code.load('portVolts', k)), step);
    if (nodal !== null) {
      code.store('input', 0, get(input));
      push(set(alone, i32(0)));
    }
    push(set(usable, before.usable), set(converged, lanes.and(get(usable), convergedCode(code, structure, step))));

    code.when(
      code.fails(get(converged)),
      () => {
        push(set(predictedAlone, get(converged)), set(steps, i32(0)), set(alone, i32(0)));
        code.set(evaluations, code.constant(0));
        const body = code.block(() => {
          const stuck = operation('i32.or', operation('i32.eq', get(steps), i32(plainSteps)), code.fails(lanes.or(get(converged), get(usable))));
          push(when(stuck, [set(alone, i32(1)), leave(loop)]));
          for (const k of ports) code.set(taken[k]!, get(step[k]!));
          const unhindered = code.keep('unhindered', lanes.or(get(converged), freeCode(code, structure, step)));
          code.when(code.fails(unhindered), () => {
            for (const k of ports) {
              code.store('step', k, get(step[k]!));
              code.store('limitedStep', k, get(step[k]!));
            }
            eachLane((lane) => push(when(operation('i32.eqz', code.holds(unhindered, lane)), [callOnly(limitPorts, get(base), laneAddress(lane))])));
            for (const k of ports) code.set(taken[k]!, code.load('limitedStep', k));
          });
          takeStepCode(code, structure, operation('i32.eqz', get(steps)), get(converged), step, taken, portVolts);
          const evaluated = evaluateCode(code, structure, cores, get(converged), portVolts.map((x) => get(x)));
          code.set(evaluations, lanes.add(get(evaluations), lanes.choose(get(converged), code.constant(0), code.constant(1))));
          const factored = factorSolvable(code, structure, predicted, evaluated);
          push(set(usable, factored.usable), set(steps, operation('i32.add', get(steps), i32(1))));
          factored.solve(portVolts.map((x) => get(x)), step);
          push(set(converged, lanes.and(get(usable), convergedCode(code, structure, step))));
          push(when(code.fails(get(converged)), [again(loop)]), leave(loop));
        });
        push(repeat(loop, body));
        code.when(get(alone), () => {
          code.store('evaluationsNow', 0, get(evaluations));
          if (nodal !== null) code.store('rescued', 0, code.constant(0));
          for (const k of ports) {
            code.store('step', k, get(step[k]!));
            code.store('missedNow', k, missCode(code, k, get(predictedAlone), step));
          }
          eachLane((lane) => push(when(operation('i32.eqz', code.holds(get(converged), lane)), [callOnly(finish, get(base), laneAddress(lane), get(steps))])));
          for (const k of ports) code.set(step[k]!, code.load('step', k));
          code.set(evaluations, code.load('evaluationsNow'));
        }, () => { for (const k of ports) code.store('missedNow', k, missCode(code, k, get(predictedAlone), step)); });
        addAt('evaluations', get(evaluations));
        const most = code.keep('most', code.load('maximumEvaluations'));
        code.store('maximumEvaluations', 0, lanes.choose(lanes.gt(get(evaluations), most), get(evaluations), most));
      },
      () => { for (const k of ports) code.store('missedNow', k, code.constant(0)); },
    );
    for (const k of ports) rememberMissCode(code, k, code.keep('miss', code.load('missedNow', k)));

    // What follows from it.
    const result = code.variable('y');
    const allFinite = get(finite);
    if (nodal === null) {
      const currents = Array.from({ length: structure.currents }, (_, i) => code.keep('i', code.load('currents', i)));
      const corrected = correctCurrentsCode(code, structure, { currents, jacobian: loadJacobian(code, structure) }, step);
      moveCoresCode(code, structure, cores, step);
      const advanced = advanceCode(code, structure, get(input), corrected, largestState);
      code.set(result, advanced.output);
      push(set(finite, advanced.finite));
    } else {
      const advanced = advanceNodalCode(code, structure.states, nodal, get(input), largestState);
      code.set(result, advanced.output);
      push(set(finite, advanced.finite));
      // A lane that was rescued goes on over the ports.
      code.when(get(alone), () => {
        code.store('output', 0, get(result));
        eachLane((lane) => push(when(
          operation('f64.gt', load('f64.load', laneAddress(lane), layout.lane.rescued), f64(0)), [callOnly(advancePorts!, get(base), laneAddress(lane))],
        )));
        code.set(result, code.load('output'));
        push(set(finite, finiteCode(code, structure, get(result))));
      });
    }
    code.when(code.fails(allFinite), () => {
      addAt('nonFinite', lanes.choose(allFinite, code.constant(0), code.constant(1)));
      code.set(result, lanes.choose(allFinite, get(result), code.shared('restOutput')));
      eachLane((lane) => push(when(operation('i32.eqz', code.holds(allFinite, lane)), [callOnly(rest, get(base), laneAddress(lane))])));
    });
    addresses.forEach((address, lane) => push(lanes.count === 1 ? store('f64.store', address, 0, get(result)) : store('v128.store64_lane', address, 0, get(result), lane)));
  });
  const itself = defineFunction('run', [base, ...pointers, frames]);
  itself.body.push(...countUp(at, i32(0), operation('i32.shl', get(frames), i32(3)), 8, sample));
  return itself;
}

/** What the tangent missed; of a lane whose tangent was accepted, nothing. */
function missCode(code: LaneCode, k: number, predictedAlone: Expression, step: readonly Local[]): Expression {
  const { lanes } = code;
  return lanes.choose(predictedAlone, code.constant(0), lanes.sub(lanes.add(code.load('portVolts', k), get(step[k]!)), code.load('predicted', k)));
}

/** The parabola through the last three misses, to the next. */
function rememberMissCode(code: LaneCode, k: number, miss: Expression): void {
  const { add, sub, mul } = code.lanes;
  const before = code.keep('before', code.load('missed', k));
  code.store('expectedMiss', k, add(mul(code.constant(3), sub(miss, before)), code.load('missedBefore', k)));
  code.store('missedBefore', k, before);
  code.store('missed', k, miss);
}
