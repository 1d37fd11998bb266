/**
 * The rest of one lane's Newton iteration, alone: where a lane needs the rescue, every lane that has not converged is finished here, so that neither
 * waits for the other nor changes it.
 */
import {
  again, call, callOnly, defineFunction, f64, get, giveBack, i32, label, local, operation, repeat, scalarLane, set, when,
} from '../../webassembly/index.ts';
import type { Expression, FunctionCode, Statement } from '../../webassembly/index.ts';
import { plainSteps } from '../solver.ts';
import type { KernelStructure } from './kernel-structure.ts';
import { LaneCode } from './lane-code.ts';
import type { MemoryLayout } from './memory-layout.ts';
import { convergedCode, freeCode, predictPortsCode, takeStepCode } from './newton-code.ts';
import type { RescueFunctions } from './rescue-code.ts';
import { loadSolvable } from './solve-form-code.ts';

/**
 * finish(base, lane, steps): from `step`, as the tangent or the last evaluation left it, to the end; leaves x, i, J, factors, `missedNow` and `step`.
 */
export function finishFunction(
  structure: KernelStructure, layout: MemoryLayout, limitPorts: FunctionCode, { evaluate, factor, rescue }: RescueFunctions,
): FunctionCode {
  const base = local('i32', 'base');
  const lane = local('i32', 'lane');
  const steps = local('i32', 'steps');
  const code = new LaneCode(scalarLane, layout, get(base), get(lane));
  const both = [get(base), get(lane)] as const;
  const ports = Array.from({ length: structure.ports }, (_, k) => k);
  const step = ports.map((k) => local('f64', `g${k}`));
  const taken = ports.map((k) => local('f64', `taken${k}`));
  const portVolts = ports.map((k) => local('f64', `x${k}`));
  const loop = label('finish');
  const push = (...statements: readonly Statement[]): void => { code.statements.push(...statements); };
  const onlyBefore = operation('i32.eqz', get(steps));

  const rescueNow = code.block(() => {
    code.when(onlyBefore, () => { for (const k of ports) code.store('startPortVolts', k, code.load('portVolts', k)); });
    for (const k of ports) code.store('missedNow', k, f64(0));
    if (structure.topology.nodal !== null) {
      // The rescue goes over the ports.
      predictPortsCode(code, structure, code.load('input'), Array.from({ length: structure.states }, (_, k) => code.load('previousStates', k)));
      code.store('rescued', 0, f64(1));
    }
    code.when(operation('i32.eqz', call(rescue, ...both)), () => { for (const k of ports) code.store('step', k, f64(0)); });
    push(giveBack());
  });
  const body = code.block(() => {
    const unusable = operation('i32.eqz', scalarLane.gt(code.load('factored'), f64(0)));
    push(when(operation('i32.or', operation('i32.eq', get(steps), i32(plainSteps)), unusable), rescueNow));
    for (const k of ports) {
      code.set(step[k]!, code.load('step', k));
      code.set(taken[k]!, get(step[k]!));
    }
    code.when(operation('i32.eqz', freeCode(code, structure, step)), () => {
      push(callOnly(limitPorts, ...both));
      for (const k of ports) code.set(taken[k]!, code.load('limitedStep', k));
    });
    takeStepCode(code, structure, onlyBefore, null, step, taken, portVolts);
    push(callOnly(evaluate, ...both), callOnly(factor, ...both), set(steps, operation('i32.add', get(steps), i32(1))));
    const loaded = loadSolvable(code, structure, ports.map((k) => code.load('ports', k)));
    loaded.solve(ports.map((k) => get(portVolts[k]!)), step);
    for (const k of ports) code.store('step', k, get(step[k]!));
    code.when(operation('i32.and', loaded.usable, convergedCode(code, structure, step)), () => {
      const miss = (k: number): Expression => scalarLane.sub(scalarLane.add(get(portVolts[k]!), get(step[k]!)), code.load('predicted', k));
      for (const k of ports) code.store('missedNow', k, miss(k));
      push(giveBack());
    });
    push(again(loop));
  });
  const itself = defineFunction('finish', [base, lane, steps]);
  itself.body.push(repeat(loop, body));
  return itself;
}
