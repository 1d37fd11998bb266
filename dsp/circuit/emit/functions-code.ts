/** The exponential and tanh of `dsp/math` as code: the same operations in the same order, hence the same bits. */
import { EXP_COEFFICIENTS, exp, LN2_HIGH, LN2_LOW, LOG2_E, ROUNDING_SHIFT } from '../../math/index.ts';
import { i32, operation } from '../../webassembly/index.ts';
import type { Expression } from '../../webassembly/index.ts';
import { highestExponent, lowestExponent } from '../device-laws.ts';
import type { LaneCode } from './lane-code.ts';

/** 2^k for |k| ≤ 1022 from k + 1.5 · 2^52, whose last bits are k. */
function powerOfTwo(code: LaneCode, shifted: Expression): Expression {
  if (code.lanes.count === 1) {
    const exponent = operation('i64.shl', operation('i64.reinterpret_f64', shifted), { kind: 'constant', type: 'i64', value: 52n });
    return operation('f64.reinterpret_i64', operation('i64.add', exponent, operation('i64.reinterpret_f64', code.constant(1))));
  }
  return operation('i64x2.add', operation('i64x2.shl', shifted, i32(52)), code.constant(1));
}

/** e^(x − k ln 2) − 1 and 2^k. */
function reduced(code: LaneCode, x: Expression): { readonly part: Expression; readonly power: Expression } {
  const { lanes: { add, sub, mul } } = code;
  const c = (index: number): Expression => code.constant(EXP_COEFFICIENTS[index]!);
  const shifted = code.keep('shifted', add(mul(x, code.constant(LOG2_E)), code.constant(ROUNDING_SHIFT)));
  const k = code.keep('k', sub(shifted, code.constant(ROUNDING_SHIFT)));
  const r = code.keep('r', sub(sub(x, mul(k, code.constant(LN2_HIGH))), mul(k, code.constant(LN2_LOW))));
  const r2 = code.keep('r2', mul(r, r));
  const r4 = code.keep('r4', mul(r2, r2));
  const pair = (low: number): Expression => add(c(low), mul(c(low + 1), r));
  const q = add(
    add(add(pair(0), mul(pair(2), r2)), mul(add(pair(4), mul(pair(6), r2)), r4)),
    mul(pair(8), mul(r4, r4)),
  );
  return { part: code.keep('part', add(r, mul(r2, q))), power: code.keep('power', powerOfTwo(code, shifted)) };
}

/** `boundedExp` of the device laws. A junction biased far backwards in all lanes is gone round. */
export function boundedExpCode(code: LaneCode, x: Expression): Expression {
  const { lanes } = code;
  const low = code.constant(lowestExponent);
  const high = code.constant(highestExponent);
  const result = code.variable('grown');
  const below = code.keep('below', lanes.lt(x, low));
  code.when(
    lanes.all(below),
    () => code.set(result, code.constant(exp(lowestExponent))),
    () => {
      const bounded = lanes.choose(below, low, x);
      const kept = code.keep('bounded', lanes.choose(lanes.gt(x, high), high, bounded));
      const { part, power } = reduced(code, kept);
      code.set(result, lanes.mul(lanes.add(code.constant(1), part), power));
    },
  );
  return { kind: 'local', type: result.type, local: result };
}

export function tanhCode(code: LaneCode, x: Expression): Expression {
  const { lanes: { add, sub, mul, div, neg, lt, gt, choose } } = code;
  const twice = code.keep('twice', choose(lt(x, code.constant(0)), mul(code.constant(2), x), mul(code.constant(-2), x)));
  const bounded = code.keep('bounded', choose(lt(twice, code.constant(-45)), code.constant(-45), twice));
  const { part, power } = reduced(code, bounded);
  const t = code.keep('t', add(mul(power, part), sub(power, code.constant(1))));
  const magnitude = code.keep('magnitude', div(neg(t), add(code.constant(2), t)));
  return code.keep('tanh', choose(gt(x, code.constant(0)), magnitude, choose(lt(x, code.constant(0)), neg(magnitude), x)));
}
