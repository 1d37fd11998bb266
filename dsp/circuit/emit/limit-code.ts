/** `limitStep` and `ChannelMemory.limitPorts` as code for one lane: rarely run, so functions of their own. */
import { call, defineFunction, f64, get, giveBack, local, operation, scalarLane, select, set, when } from '../../webassembly/index.ts';
import type { FunctionCode } from '../../webassembly/index.ts';
import type { KernelStructure } from './kernel-structure.ts';
import { LaneCode } from './lane-code.ts';
import type { MemoryLayout } from './memory-layout.ts';

/** What of a step `d` from `from` volts one control may take. */
export function limitControlCode(logarithm: FunctionCode): FunctionCode {
  const { add, sub, mul, div, abs, neg, gt } = scalarLane;
  const from = local('f64', 'from');
  const wanted = local('f64', 'wanted');
  const width = local('f64', 'width');
  const critical = local('f64', 'critical');
  const longest = local('f64', 'longest');
  const stepGrowth = local('f64', 'stepGrowth');
  const d = local('f64', 'd');
  const growth = local('f64', 'growth');
  const bound = local('f64', 'bound');
  const code = defineFunction('limitControl', [from, wanted, width, critical, longest, stepGrowth], 'f64');
  const pastCritical = operation('i32.and', gt(get(width), f64(0)), gt(add(get(from), get(d)), get(critical)));
  const far = operation('i32.and', pastCritical, gt(abs(get(d)), mul(f64(2), get(width))));
  code.body.push(
    set(d, get(wanted)),
    when(far, [
      when(
        gt(get(from), f64(0)),
        [
          set(growth, add(f64(1), div(get(d), get(width)))),
          when(gt(get(growth), f64(0)), [set(d, mul(get(width), call(logarithm, get(growth))))], [set(d, sub(get(critical), get(from)))]),
        ],
        [set(d, sub(mul(get(width), call(logarithm, div(add(get(from), get(d)), get(width)))), get(from)))],
      ),
    ]),
    set(bound, add(get(longest), mul(get(stepGrowth), abs(get(from))))),
    giveBack(select(gt(get(d), get(bound)), get(bound), select(operation('f64.lt', get(d), neg(get(bound))), neg(get(bound)), get(d)))),
  );
  return code;
}

/** limit(base, lane): `step` into `limitedStep`. */
export function limitPortsCode(structure: KernelStructure, layout: MemoryLayout, limitControl: FunctionCode): FunctionCode {
  const base = local('i32', 'base');
  const lane = local('i32', 'lane');
  const limit = defineFunction('limitPorts', [base, lane]);
  const code = new LaneCode(scalarLane, layout, get(base), get(lane));
  const { controlPorts, controlSigns } = structure.topology;
  const step = Array.from({ length: structure.ports }, (_, k) => code.keep('step', code.load('step', k)));
  const limited = [...step];
  for (let k = 0; k < structure.controls; k += 1) {
    const port = controlPorts[k]!;
    const mirrored = controlSigns[k]! < 0;
    const wanted = mirrored ? scalarLane.neg(step[port]!) : step[port]!;
    const allowed = code.keep('allowed', call(
      limitControl, code.load('volts', k), wanted,
      code.shared('junctionWidth', k), code.shared('junctionCritical', k), code.shared('longestStep', k), code.shared('stepGrowth', k),
    ));
    limited[port] = code.keep('limited', scalarLane.choose(
      scalarLane.lt(scalarLane.abs(allowed), scalarLane.abs(limited[port]!)), mirrored ? scalarLane.neg(allowed) : allowed, limited[port]!,
    ));
  }
  limited.forEach((value, k) => code.store('limitedStep', k, value));
  limit.body.push(...code.statements);
  return limit;
}
