/** `log` of `dsp/math` as a function of code: the same operations in the same order. */
import { LN2_HIGH, LN2_LOW } from '../../math/index.ts';
import { defineFunction, f64, get, giveBack, i64, local, operation, scalarLane, set, when } from '../../webassembly/index.ts';
import type { Expression, FunctionCode } from '../../webassembly/index.ts';

const coefficients = [
  0.666666666666667, 0.39999999999899444, 0.2857142862600327, 0.22222211130259878, 0.18182889455674947, 0.15331710618210773, 0.14616585424888623,
];

export function logarithmCode(): FunctionCode {
  const { add, sub, mul, div } = scalarLane;
  const given = local('f64', 'given');
  const x = local('f64', 'x');
  const less = local('f64', 'less');
  const exponent = local('i64', 'exponent');
  const k = local('f64', 'k');
  const f = local('f64', 'f');
  const s = local('f64', 's');
  const z = local('f64', 'z');
  const w = local('f64', 'w');
  const half = local('f64', 'half');
  const r = local('f64', 'r');
  const code = defineFunction('log', [given], 'f64');
  const L = (index: number): Expression => f64(coefficients[index - 1]!);
  code.body.push(
    set(x, get(given)),
    set(less, f64(0)),
    when(operation('f64.lt', get(x), f64(2.2250738585072014e-308)), [
      when(operation('f64.eq', get(x), f64(0)), [giveBack(f64(-Infinity))]),
      when(operation('f64.lt', get(x), f64(0)), [giveBack(f64(NaN))]),
      set(x, mul(get(x), f64(18014398509481984))),
      set(less, f64(54)),
    ]),
    when(operation('i32.eqz', operation('f64.lt', get(x), f64(Infinity))), [giveBack(get(x))]),
    set(exponent, operation('i64.shr_s', operation('i64.sub', operation('i64.shr_s', operation('i64.reinterpret_f64', get(x)), i64(32n)), i64(0x3fe6a09en)), i64(20n))),
    set(f, sub(mul(get(x), operation('f64.reinterpret_i64', operation('i64.shl', operation('i64.sub', i64(1023n), get(exponent)), i64(52n)))), f64(1))),
    set(k, sub(operation('f64.convert_i64_s', get(exponent)), get(less))),
    set(s, div(get(f), add(f64(2), get(f)))),
    set(z, mul(get(s), get(s))),
    set(w, mul(get(z), get(z))),
    set(r, add(
      mul(get(z), add(L(1), mul(get(w), add(L(3), mul(get(w), add(L(5), mul(get(w), L(7)))))))),
      mul(get(w), add(L(2), mul(get(w), add(L(4), mul(get(w), L(6)))))),
    )),
    set(half, mul(mul(f64(0.5), get(f)), get(f))),
    giveBack(sub(
      mul(get(k), f64(LN2_HIGH)),
      sub(sub(get(half), add(mul(get(s), add(get(half), get(r))), add(mul(get(k), f64(LN2_LOW)), f64(0)))), get(f)),
    )),
  );
  return code;
}
