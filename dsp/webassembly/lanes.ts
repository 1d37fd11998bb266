/**
 * Float64 arithmetic written once for one lane (f64) and for two (f64x2): whatever is built from it computes, lane by lane, the same bits. A *mask* is what comparisons give and
 * `choose` takes: an i32, or all bits of a lane.
 */
import { f64, f64x2, load, operation, select, store } from './code.ts';
import type { Expression, Statement } from './code.ts';
import type { ValueType } from './operations.ts';

export interface Lanes {
  readonly count: 1 | 2;
  readonly type: ValueType;
  /** Bytes of one value in memory. */
  readonly bytes: 8 | 16;
  constant(value: number): Expression;
  /** One float64 of memory for all lanes. */
  loadShared(address: Expression, offset: number): Expression;
  /** A value of its own for each lane. */
  load(address: Expression, offset: number): Expression;
  store(address: Expression, offset: number, value: Expression): Statement;
  add(a: Expression, b: Expression): Expression;
  sub(a: Expression, b: Expression): Expression;
  mul(a: Expression, b: Expression): Expression;
  div(a: Expression, b: Expression): Expression;
  abs(a: Expression): Expression;
  neg(a: Expression): Expression;
  sqrt(a: Expression): Expression;
  lt(a: Expression, b: Expression): Expression;
  gt(a: Expression, b: Expression): Expression;
  le(a: Expression, b: Expression): Expression;
  ge(a: Expression, b: Expression): Expression;
  eq(a: Expression, b: Expression): Expression;
  ne(a: Expression, b: Expression): Expression;
  /** Of masks. */
  and(a: Expression, b: Expression): Expression;
  or(a: Expression, b: Expression): Expression;
  not(a: Expression): Expression;
  /** `whenTrue` where the mask holds; both are computed. */
  choose(mask: Expression, whenTrue: Expression, whenFalse: Expression): Expression;
  /** i32: whether the mask holds in any lane, in all. */
  any(mask: Expression): Expression;
  all(mask: Expression): Expression;
}

/** One float64. */
export const scalarLane: Lanes = {
  count: 1,
  type: 'f64',
  bytes: 8,
  constant: f64,
  loadShared: (address, offset) => load('f64.load', address, offset),
  load: (address, offset) => load('f64.load', address, offset),
  store: (address, offset, value) => store('f64.store', address, offset, value),
  add: (a, b) => operation('f64.add', a, b),
  sub: (a, b) => operation('f64.sub', a, b),
  mul: (a, b) => operation('f64.mul', a, b),
  div: (a, b) => operation('f64.div', a, b),
  abs: (a) => operation('f64.abs', a),
  neg: (a) => operation('f64.neg', a),
  sqrt: (a) => operation('f64.sqrt', a),
  lt: (a, b) => operation('f64.lt', a, b),
  gt: (a, b) => operation('f64.gt', a, b),
  le: (a, b) => operation('f64.le', a, b),
  ge: (a, b) => operation('f64.ge', a, b),
  eq: (a, b) => operation('f64.eq', a, b),
  ne: (a, b) => operation('f64.ne', a, b),
  and: (a, b) => operation('i32.and', a, b),
  or: (a, b) => operation('i32.or', a, b),
  not: (a) => operation('i32.eqz', a),
  choose: (mask, whenTrue, whenFalse) => select(mask, whenTrue, whenFalse),
  any: (mask) => mask,
  all: (mask) => mask,
};

const isZero = (value: Expression): boolean => value.kind === 'constant' && Object.is(value.value, 0);

/** Where one side is +0, one operation instead of the three that engines make of a choice. */
function chooseLanes(mask: Expression, whenTrue: Expression, whenFalse: Expression): Expression {
  if (isZero(whenFalse)) return operation('v128.and', whenTrue, mask);
  return isZero(whenTrue) ? operation('v128.andnot', whenFalse, mask) : operation('v128.bitselect', whenTrue, whenFalse, mask);
}

/** Two: left in lane 0, right in lane 1. */
export const vectorLanes: Lanes = {
  count: 2,
  type: 'v128',
  bytes: 16,
  constant: f64x2,
  loadShared: (address, offset) => load('v128.load64_splat', address, offset),
  load: (address, offset) => load('v128.load', address, offset),
  store: (address, offset, value) => store('v128.store', address, offset, value),
  add: (a, b) => operation('f64x2.add', a, b),
  sub: (a, b) => operation('f64x2.sub', a, b),
  mul: (a, b) => operation('f64x2.mul', a, b),
  div: (a, b) => operation('f64x2.div', a, b),
  abs: (a) => operation('f64x2.abs', a),
  neg: (a) => operation('f64x2.neg', a),
  sqrt: (a) => operation('f64x2.sqrt', a),
  lt: (a, b) => operation('f64x2.lt', a, b),
  gt: (a, b) => operation('f64x2.gt', a, b),
  le: (a, b) => operation('f64x2.le', a, b),
  ge: (a, b) => operation('f64x2.ge', a, b),
  eq: (a, b) => operation('f64x2.eq', a, b),
  ne: (a, b) => operation('f64x2.ne', a, b),
  and: (a, b) => operation('v128.and', a, b),
  or: (a, b) => operation('v128.or', a, b),
  not: (a) => operation('v128.not', a),
  choose: chooseLanes,
  any: (mask) => operation('v128.any_true', mask),
  all: (mask) => operation('i64x2.all_true', mask),
};
