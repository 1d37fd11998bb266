/** The device laws of `device-laws.ts` as code: the same operations in the same order. */
import { exp } from '../../math/index.ts';
import { expCode, get, tanhCode } from '../../webassembly/index.ts';
import type { Expression } from '../../webassembly/index.ts';
import { highestExponent, lowestExponent, triodeToeVolts } from '../device-laws.ts';
import { deviceKind } from '../system.ts';
import { coreCode } from './core-code.ts';
import type { CoreFunctions } from './core-code.ts';
import type { DeviceShape } from './kernel-structure.ts';
import type { LaneCode } from './lane-code.ts';

/** Currents, and the packed Jacobian row by row; null: always 0. */
export interface DeviceValues {
  readonly currents: readonly Expression[];
  readonly jacobian: readonly (Expression | null)[];
}

/** `volts` are the device's controls, kept in locals. `cores`: null where there are none. */
export function deviceCode(code: LaneCode, shape: DeviceShape, cores: CoreFunctions | null, volts: readonly Expression[]): DeviceValues {
  switch (shape.kind) {
    case deviceKind.core: {
      const { current, slope } = coreCode(code, shape, cores!, volts[0]!);
      return { currents: [current], jacobian: [slope] };
    }
    case deviceKind.diode:
      return diodeCode(code, shape, volts);
    case deviceKind.bipolar:
      return bipolarCode(code, shape, volts);
    case deviceKind.forwardBipolar:
      return forwardBipolarCode(code, shape, volts);
    case deviceKind.forwardFieldEffect:
      return forwardFieldEffectCode(code, shape, volts);
    case deviceKind.fieldEffect:
      return fieldEffectCode(code, shape, volts);
    case deviceKind.triode:
      return triodeCode(code, shape, volts);
    case deviceKind.tanhTransconductor:
      return transconductorCode(code, shape, volts);
    default:
      return productCode(code, shape, volts);
  }
}

/** `boundedExp` of the laws. A junction biased far backwards in all lanes is gone round, and so is the bounding where no lane needs it. */
function boundedExpCode(code: LaneCode, operand: Expression): Expression {
  const { lanes } = code;
  const low = code.constant(lowestExponent);
  const high = code.constant(highestExponent);
  const x = code.variable('x');
  const result = code.variable('grown');
  code.set(x, operand);
  const below = code.keep('below', lanes.lt(get(x), low));
  code.when(
    code.fails(below),
    () => {
      const above = code.keep('above', lanes.gt(get(x), high));
      code.when(code.holdsSomewhere(lanes.or(below, above)), () => code.set(x, lanes.choose(above, high, lanes.choose(below, low, get(x)))));
      code.set(result, code.inline(expCode(lanes, get(x))));
    },
    () => code.set(result, lanes.constant(exp(lowestExponent))),
  );
  return get(result);
}

function diodeCode(code: LaneCode, { firstParameter: at }: DeviceShape, [v]: readonly Expression[]): DeviceValues {
  const { lanes } = code;
  const saturation = code.keep('saturation', code.shared('parameters', at));
  const perVolt = code.keep('perVolt', code.shared('parameters', at + 1));
  const grown = code.keep('grown', lanes.mul(saturation, boundedExpCode(code, code.keep('x', lanes.mul(v!, perVolt)))));
  return { currents: [code.keep('i', lanes.sub(grown, saturation))], jacobian: [code.keep('g', lanes.mul(grown, perVolt))] };
}

function bipolarCode(code: LaneCode, { firstParameter: at }: DeviceShape, [vEmitter, vCollector]: readonly Expression[]): DeviceValues {
  const { lanes: { add, sub, mul, neg } } = code;
  const saturation = code.keep('saturation', code.shared('parameters', at));
  const perVolt = code.keep('perVolt', code.shared('parameters', at + 1));
  const forwardLeak = code.keep('forwardLeak', code.shared('parameters', at + 2));
  const reverseLeak = code.keep('reverseLeak', code.shared('parameters', at + 3));
  const perEarlyVolt = code.keep('perEarlyVolt', code.shared('parameters', at + 4));
  const one = code.constant(1);
  const forward = boundedExpCode(code, code.keep('x', mul(vEmitter!, perVolt)));
  const reverse = boundedExpCode(code, code.keep('x', mul(vCollector!, perVolt)));
  const widening = code.keep('widening', sub(one, mul(vCollector!, perEarlyVolt)));
  const linking = code.keep('linking', mul(saturation, sub(forward, reverse)));
  const transport = code.keep('transport', mul(linking, widening));
  const byEmitter = code.keep('byEmitter', mul(mul(mul(saturation, forward), perVolt), widening));
  const byCollector = code.keep('byCollector', sub(neg(mul(mul(mul(saturation, reverse), perVolt), widening)), mul(linking, perEarlyVolt)));
  return {
    currents: [
      code.keep('iEmitter', add(transport, mul(forwardLeak, sub(forward, one)))),
      code.keep('iCollector', sub(mul(reverseLeak, sub(reverse, one)), transport)),
    ],
    jacobian: [
      code.keep('g', add(byEmitter, mul(mul(forwardLeak, forward), perVolt))),
      byCollector,
      code.keep('g', neg(byEmitter)),
      code.keep('g', sub(mul(mul(reverseLeak, reverse), perVolt), byCollector)),
    ],
  };
}

function forwardBipolarCode(code: LaneCode, { firstParameter: at }: DeviceShape, [vEmitter, vCollector]: readonly Expression[]): DeviceValues {
  const { lanes: { add, sub, mul, neg } } = code;
  const saturation = code.keep('saturation', code.shared('parameters', at));
  const perVolt = code.keep('perVolt', code.shared('parameters', at + 1));
  const forwardLeak = code.keep('forwardLeak', code.shared('parameters', at + 2));
  const perEarlyVolt = code.keep('perEarlyVolt', code.shared('parameters', at + 3));
  const one = code.constant(1);
  const forward = boundedExpCode(code, code.keep('x', mul(vEmitter!, perVolt)));
  const widening = code.keep('widening', sub(one, mul(vCollector!, perEarlyVolt)));
  const linking = code.keep('linking', mul(saturation, sub(forward, one)));
  const transport = code.keep('transport', mul(linking, widening));
  const byEmitter = code.keep('byEmitter', mul(mul(mul(saturation, forward), perVolt), widening));
  const byCollector = code.keep('byCollector', neg(mul(linking, perEarlyVolt)));
  return {
    currents: [code.keep('iEmitter', add(transport, mul(forwardLeak, sub(forward, one)))), code.keep('iCollector', neg(transport))],
    jacobian: [code.keep('g', add(byEmitter, mul(mul(forwardLeak, forward), perVolt))), byCollector, code.keep('g', neg(byEmitter)), code.keep('g', neg(byCollector))],
  };
}

function forwardFieldEffectCode(code: LaneCode, { firstParameter: at }: DeviceShape, [vSource, vDrain]: readonly Expression[]): DeviceValues {
  const { lanes } = code;
  const { add, sub, mul } = lanes;
  const beta = code.keep('beta', code.shared('parameters', at + 1));
  const lambda = code.keep('lambda', code.shared('parameters', at + 2));
  const zero = code.constant(0);
  const above = code.keep('above', sub(vSource!, code.shared('parameters', at)));
  const overdrive = code.keep('overdrive', lanes.choose(code.keep('on', lanes.gt(above, zero)), above, zero));
  const slope = code.keep('slope', add(code.constant(1), mul(lambda, sub(vSource!, vDrain!))));
  const squared = code.keep('squared', mul(mul(beta, overdrive), overdrive));
  const byAcross = code.keep('byAcross', mul(squared, lambda));
  return {
    currents: [code.keep('i', mul(squared, slope))],
    jacobian: [code.keep('g', add(mul(mul(mul(code.constant(2), beta), overdrive), slope), byAcross)), code.keep('g', lanes.neg(byAcross))],
  };
}

function fieldEffectCode(code: LaneCode, { firstParameter: at, currents }: DeviceShape, [vSource, vDrain]: readonly Expression[]): DeviceValues {
  const { lanes } = code;
  const { add, sub, mul, neg, choose } = lanes;
  const threshold = code.shared('parameters', at);
  const beta = code.keep('beta', code.shared('parameters', at + 1));
  const lambda = code.keep('lambda', code.shared('parameters', at + 2));
  const two = code.constant(2);
  const zero = code.constant(0);
  const reversed = code.keep('reversed', lanes.lt(vSource!, vDrain!));
  const overdrive = code.keep('overdrive', sub(choose(reversed, vDrain!, vSource!), threshold));
  const across = code.keep('across', choose(reversed, sub(vDrain!, vSource!), sub(vSource!, vDrain!)));
  const slope = code.keep('slope', add(code.constant(1), mul(lambda, across)));
  const ohmic = code.keep('ohmic', lanes.lt(across, overdrive));
  const on = code.keep('on', lanes.gt(overdrive, zero));
  const parabola = code.keep('parabola', mul(across, sub(mul(two, overdrive), across)));
  const squared = code.keep('squared', mul(mul(beta, overdrive), overdrive));
  const channel = code.keep('channel', choose(on, choose(ohmic, mul(mul(beta, parabola), slope), mul(squared, slope)), zero));
  const gate = code.keep('gate', mul(two, beta));
  const byGate = code.keep('byGate', choose(on, choose(ohmic, mul(mul(gate, across), slope), mul(mul(gate, overdrive), slope)), zero));
  const byAcross = code.keep('byAcross', choose(
    on,
    choose(ohmic, mul(beta, add(mul(mul(two, sub(overdrive, across)), slope), mul(parabola, lambda))), mul(squared, lambda)),
    zero,
  ));
  const both = code.keep('both', add(byGate, byAcross));
  const drain = [code.keep('i', choose(reversed, neg(channel), channel))];
  const byDrain = [code.keep('g', choose(reversed, byAcross, both)), code.keep('g', choose(reversed, neg(both), neg(byAcross)))];
  if (currents === 1) return { currents: drain, jacobian: byDrain };
  const saturation = code.keep('saturation', code.shared('parameters', at + 3));
  const perVolt = code.keep('perVolt', code.shared('parameters', at + 4));
  const grown = [vSource!, vDrain!].map((v) => code.keep('grown', mul(saturation, boundedExpCode(code, code.keep('x', mul(v, perVolt))))));
  return {
    currents: [...drain, ...grown.map((g) => code.keep('i', sub(g, saturation)))],
    jacobian: [...byDrain, code.keep('g', mul(grown[0]!, perVolt)), null, null, code.keep('g', mul(grown[1]!, perVolt))],
  };
}

function triodeCode(code: LaneCode, { firstParameter: at, currents }: DeviceShape, [vGrid, vAnode]: readonly Expression[]): DeviceValues {
  const { lanes } = code;
  const { add, mul, div, choose } = lanes;
  const zero = code.constant(0);
  const perveance = code.keep('perveance', code.shared('parameters', at));
  const perMu = code.keep('perMu', code.shared('parameters', at + 1));
  const effective = code.keep('effective', add(vGrid!, mul(vAnode!, perMu)));
  const drive = code.variable('drive');
  const driveSlope = code.variable('driveSlope');
  code.set(drive, effective);
  code.set(driveSlope, code.constant(1));
  const below = code.keep('below', lanes.lt(effective, code.constant(triodeToeVolts)));
  code.when(lanes.any(below), () => {
    const into = code.keep('into', add(effective, code.constant(triodeToeVolts)));
    const inside = code.keep('inside', lanes.gt(into, zero));
    code.set(drive, choose(below, choose(inside, div(mul(into, into), code.constant(4 * triodeToeVolts)), zero), get(drive)));
    code.set(driveSlope, choose(below, choose(inside, div(into, code.constant(2 * triodeToeVolts)), zero), get(driveSlope)));
  });
  const root = code.keep('root', lanes.sqrt(get(drive)));
  const slope = code.keep('slope', mul(mul(mul(code.constant(1.5), perveance), root), get(driveSlope)));
  const anode = code.keep('i', mul(mul(perveance, get(drive)), root));
  const byAnode = code.keep('g', mul(slope, perMu));
  if (currents === 1) return { currents: [anode], jacobian: [slope, byAnode] };
  const grid = code.variable('grid');
  const byGrid = code.variable('byGrid');
  const positive = code.keep('positive', lanes.gt(vGrid!, zero));
  code.when(
    lanes.any(positive),
    () => {
      const gridPerveance = code.keep('gridPerveance', code.shared('parameters', at + 2));
      const v = code.keep('v', choose(positive, vGrid!, zero));
      const gridRoot = code.keep('gridRoot', lanes.sqrt(v));
      code.set(grid, mul(mul(gridPerveance, v), gridRoot));
      code.set(byGrid, mul(mul(code.constant(1.5), gridPerveance), gridRoot));
    },
    () => {
      code.set(grid, zero);
      code.set(byGrid, zero);
    },
  );
  return { currents: [anode, get(grid)], jacobian: [slope, byAnode, get(byGrid), null] };
}

function transconductorCode(code: LaneCode, { firstParameter: at }: DeviceShape, [v]: readonly Expression[]): DeviceValues {
  const { lanes: { sub, mul } } = code;
  const largest = code.keep('largest', code.shared('parameters', at));
  const perVolt = code.keep('perVolt', code.shared('parameters', at + 1));
  const steering = code.inline(tanhCode(code.lanes, mul(v!, perVolt)));
  return {
    currents: [code.keep('i', mul(largest, steering))],
    jacobian: [code.keep('g', mul(mul(largest, perVolt), sub(code.constant(1), mul(steering, steering))))],
  };
}

function productCode(code: LaneCode, { firstParameter: at }: DeviceShape, [first, second]: readonly Expression[]): DeviceValues {
  const { lanes: { mul } } = code;
  const perVolt2 = code.keep('perVolt2', code.shared('parameters', at));
  const byFirst = code.keep('g', mul(perVolt2, second!));
  return { currents: [code.keep('i', mul(byFirst, first!))], jacobian: [byFirst, code.keep('g', mul(perVolt2, first!))] };
}
