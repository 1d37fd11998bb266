/**
 * e^x, the natural logarithm and tanh of `dsp/math` as code: operation by operation the same, hence the same bits, in one lane and in two. Written *inline* each time: its
 * intermediate values are locals of whoever uses it, and calculations that do not depend on each other overlap. The bits of a NaN are not promised.
 */
import { EXP_COEFFICIENTS, LN2_HIGH, LN2_LOW, LOG2_E, LOG_COEFFICIENTS, ROUNDING_SHIFT } from '../math/index.ts';
import { defineFunction, get, giveBack, i32, i64, local, operation, set } from './code.ts';
import type { Expression, FunctionCode, Statement } from './code.ts';
import type { Lanes } from './lanes.ts';

/** Statements to run first, then the value: an expression that may be used any number of times. */
export interface InlineCode {
  readonly statements: readonly Statement[];
  readonly value: Expression;
}

const smallestNormal = 2.2250738585072014e-308;
const twoTo54 = 18014398509481984;

/** x between `low` and `high`, by comparison and selection; NaN stays NaN. */
export function clampCode(lanes: Lanes, x: Expression, low: number, high: number): InlineCode {
  const writer = new InlineWriter(lanes);
  const given = writer.keep('given', x);
  const raised = writer.keep('raised', lanes.choose(lanes.lt(given, lanes.constant(low)), lanes.constant(low), given));
  return writer.ending(writer.keep('clamped', lanes.choose(lanes.gt(raised, lanes.constant(high)), lanes.constant(high), raised)));
}

/** e^x for −708 ≤ x ≤ 709 and NaN (for any other x a number without meaning: clamp before). No branch, no table: 2^k is made of its exponent bits. */
export function expCode(lanes: Lanes, x: Expression): InlineCode {
  const writer = new InlineWriter(lanes);
  const { part, power } = reduced(writer, writer.keep('x', x));
  return writer.ending(writer.keep('exp', lanes.mul(lanes.add(lanes.constant(1), part), power)));
}

/** tanh x for every x. No branch. */
export function tanhCode(lanes: Lanes, operand: Expression): InlineCode {
  const { add, sub, mul, div, abs, neg, lt, gt, choose, constant } = lanes;
  const writer = new InlineWriter(lanes);
  const x = writer.keep('x', operand);
  const twice = writer.keep('twice', mul(constant(-2), abs(x)));
  const { part, power } = reduced(writer, writer.keep('y', choose(lt(twice, constant(-45)), constant(-45), twice)));
  const t = writer.keep('t', add(mul(power, part), sub(power, constant(1))));
  const magnitude = writer.keep('magnitude', div(neg(t), add(constant(2), t)));
  return writer.ending(writer.keep('tanh', choose(gt(x, constant(0)), magnitude, choose(lt(x, constant(0)), neg(magnitude), x))));
}

/** The natural logarithm of every x, subnormals included: −∞ for 0, NaN below. No branch. */
export function logCode(lanes: Lanes, operand: Expression): InlineCode {
  const { add, sub, mul, div, lt, gt, ge, choose, constant } = lanes;
  const writer = new InlineWriter(lanes);
  const x = writer.keep('x', operand);
  const tiny = writer.keep('tiny', lt(x, constant(smallestNormal)));
  const bits = writer.keep('bits', bitsOf(lanes, choose(tiny, mul(x, constant(twoTo54)), x)));
  // Taking √½ away, to the 20 bits of `dsp/math`, makes the carry into the exponent fall at √2.
  const exponent = writer.keep('exponent', shiftedBits(lanes, 'shr_s', subtractedBits(lanes, bits, constantBits(lanes, 0x3fe6a09e_0000_0000n)), 52));
  const asNumber = sub(numberOf(lanes, addedBits(lanes, exponent, bitsOf(lanes, constant(ROUNDING_SHIFT)))), constant(ROUNDING_SHIFT));
  const k = writer.keep('k', sub(asNumber, choose(tiny, constant(54), constant(0))));
  const significand = numberOf(lanes, subtractedBits(lanes, bits, shiftedBits(lanes, 'shl', exponent, 52)));
  const f = writer.keep('f', sub(significand, constant(1)));
  const s = writer.keep('s', div(f, add(constant(2), f)));
  const z = writer.keep('z', mul(s, s));
  const w = writer.keep('w', mul(z, z));
  const [l1, l2, l3, l4, l5, l6, l7] = LOG_COEFFICIENTS.map((value) => constant(value)) as [Expression, Expression, Expression, Expression, Expression, Expression, Expression];
  const odd = mul(z, add(l1, mul(w, add(l3, mul(w, add(l5, mul(w, l7)))))));
  const even = mul(w, add(l2, mul(w, add(l4, mul(w, l6)))));
  const halfSquare = writer.keep('halfSquare', mul(mul(constant(0.5), f), f));
  const correction = add(mul(s, add(halfSquare, add(odd, even))), mul(k, constant(LN2_LOW)));
  const finite = sub(mul(k, constant(LN2_HIGH)), sub(sub(halfSquare, correction), f));
  const positive = choose(lt(x, constant(Infinity)), finite, x);
  return writer.ending(writer.keep('log', choose(gt(x, constant(0)), positive, choose(ge(x, constant(0)), constant(-Infinity), constant(NaN)))));
}

/** One of these as a function of its own: a value of `lanes` in, one out. */
export function functionOf(name: string, lanes: Lanes, inline: (lanes: Lanes, x: Expression) => InlineCode): FunctionCode {
  const operand = local(lanes.type, 'operand');
  const code = defineFunction(name, [operand], lanes.type);
  const { statements, value } = inline(lanes, get(operand));
  code.body.push(...statements, giveBack(value));
  return code;
}

class InlineWriter {
  readonly lanes: Lanes;
  readonly #statements: Statement[] = [];

  constructor(lanes: Lanes) {
    this.lanes = lanes;
  }

  /** In a new local. */
  keep(name: string, value: Expression): Expression {
    const variable = local(value.type, name);
    this.#statements.push(set(variable, value));
    return get(variable);
  }

  ending(value: Expression): InlineCode {
    return { statements: this.#statements, value };
  }
}

/** e^(x − k ln 2) − 1 and 2^k, k = round(x log2 e), for x in a local. */
function reduced(writer: InlineWriter, x: Expression): { readonly part: Expression; readonly power: Expression } {
  const { lanes } = writer;
  const { add, sub, mul, constant } = lanes;
  const shift = writer.keep('shift', constant(ROUNDING_SHIFT));
  const shifted = writer.keep('shifted', add(mul(x, constant(LOG2_E)), shift));
  const k = writer.keep('k', sub(shifted, shift));
  const r = writer.keep('r', sub(sub(x, mul(k, constant(LN2_HIGH))), mul(k, constant(LN2_LOW))));
  const r2 = writer.keep('r2', mul(r, r));
  const r4 = writer.keep('r4', mul(r2, r2));
  const pair = (low: number): Expression => add(constant(EXP_COEFFICIENTS[low]!), mul(constant(EXP_COEFFICIENTS[low + 1]!), r));
  const q = add(
    add(add(pair(0), mul(pair(2), r2)), mul(add(pair(4), mul(pair(6), r2)), r4)),
    mul(pair(8), mul(r4, r4)),
  );
  // The last bits of k + 1.5 · 2^52 are k: shifted up to the exponent, and 1's exponent added, they are 2^k (|k| ≤ 1022, or 1023).
  const power = numberOf(lanes, addedBits(lanes, shiftedBits(lanes, 'shl', bitsOf(lanes, shifted), 52), bitsOf(lanes, constant(1))));
  return { part: writer.keep('part', add(r, mul(r2, q))), power: writer.keep('power', power) };
}

// Float64s as 64-bit integers: an i64, or the v128 itself.

function bitsOf(lanes: Lanes, value: Expression): Expression {
  return lanes.count === 1 ? operation('i64.reinterpret_f64', value) : value;
}

function numberOf(lanes: Lanes, bits: Expression): Expression {
  return lanes.count === 1 ? operation('f64.reinterpret_i64', bits) : bits;
}

function constantBits(lanes: Lanes, value: bigint): Expression {
  return lanes.count === 1 ? i64(value) : operation('i64x2.splat', i64(value));
}

function addedBits(lanes: Lanes, a: Expression, b: Expression): Expression {
  return operation(lanes.count === 1 ? 'i64.add' : 'i64x2.add', a, b);
}

function subtractedBits(lanes: Lanes, a: Expression, b: Expression): Expression {
  return operation(lanes.count === 1 ? 'i64.sub' : 'i64x2.sub', a, b);
}

function shiftedBits(lanes: Lanes, way: 'shl' | 'shr_s', value: Expression, count: number): Expression {
  return lanes.count === 1 ? operation(`i64.${way}`, value, i64(BigInt(count))) : operation(`i64x2.${way}`, value, i32(count));
}
