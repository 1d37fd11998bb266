/**
 * What each instruction computes, from the numerics chapter of the WebAssembly core specification 2.0 (W3C 2022, §4.3), on plain values: an i32 is a signed number, an i64 a signed
 * bigint, an f64 a number, a v128 its two 64-bit lanes as unsigned bigints.
 */
import type { OperationName } from '../../dsp/webassembly/index.ts';

export type Value = number | bigint | readonly [bigint, bigint];

export class Trap extends Error {}

const view = new DataView(new ArrayBuffer(8));

export function bitsOf(value: number): bigint {
  view.setFloat64(0, value);
  return view.getBigUint64(0);
}

export function floatOf(bits: bigint): number {
  view.setBigUint64(0, bits);
  return view.getFloat64(0);
}

const allBits = 0xffff_ffff_ffff_ffffn;
const signBit = 1n << 63n;
const signed = (value: bigint): bigint => BigInt.asIntN(64, value);
const unsigned = (value: bigint): bigint => BigInt.asUintN(64, value);

type Meaning = (operands: readonly Value[], lane: number) => Value;

const i32 = (f: (a: number, b: number) => number | boolean): Meaning => (operands) => Number(f(operands[0] as number, operands[1] as number)) | 0;
const i64 = (f: (a: bigint, b: bigint) => bigint): Meaning => (operands) => signed(f(operands[0] as bigint, operands[1] as bigint));
const f64 = (f: (a: number, b: number) => number): Meaning => (operands) => f(operands[0] as number, operands[1] as number);
const f64Test = (f: (a: number, b: number) => boolean): Meaning => (operands) => Number(f(operands[0] as number, operands[1] as number));
type Pair = readonly [bigint, bigint];
const eachLane = (f: (...lanes: bigint[]) => bigint): Meaning => (operands) => {
  const pairs = operands as Pair[];
  return [unsigned(f(...pairs.map(([low]) => low))), unsigned(f(...pairs.map(([, high]) => high)))];
};
const lanesOfFloats = (f: (a: number, b: number) => number): Meaning => eachLane((a, b) => bitsOf(f(floatOf(a!), b === undefined ? NaN : floatOf(b))));
const laneTests = (f: (a: number, b: number) => boolean): Meaning => eachLane((a, b) => (f(floatOf(a!), floatOf(b!)) ? allBits : 0n));
/** Shift counts are taken modulo the width. */
const shiftedLanes = (f: (lane: bigint, count: bigint) => bigint): Meaning => ([value, count]) => {
  const [low, high] = value as Pair;
  const places = BigInt((count as number) & 63);
  return [unsigned(f(low, places)), unsigned(f(high, places))];
};
const truth = (holds: (low: bigint, high: bigint) => number | boolean): Meaning => ([value]) => Number(holds(...(value as [bigint, bigint])));

export const meanings: Readonly<Record<OperationName, Meaning>> = {
  'i32.eqz': i32((a) => a === 0), 'i32.eq': i32((a, b) => a === b), 'i32.ne': i32((a, b) => a !== b), 'i32.lt_s': i32((a, b) => a < b), 'i32.gt_s': i32((a, b) => a > b),
  'i32.le_s': i32((a, b) => a <= b), 'i32.ge_s': i32((a, b) => a >= b), 'i32.add': i32((a, b) => a + b), 'i32.sub': i32((a, b) => a - b), 'i32.mul': i32(Math.imul),
  'i32.and': i32((a, b) => a & b), 'i32.or': i32((a, b) => a | b), 'i32.xor': i32((a, b) => a ^ b), 'i32.shl': i32((a, b) => a << (b & 31)), 'i32.shr_u': i32((a, b) => a >>> (b & 31)),
  'i32.wrap_i64': ([value]) => Number(BigInt.asIntN(32, value as bigint)),
  'i32.trunc_f64_s': ([value]) => {
    const whole = Math.trunc(value as number);
    if (!(whole >= -(2 ** 31) && whole < 2 ** 31)) throw new Trap(`${String(value)} has no i32`);
    return whole | 0;
  },
  'i64.add': i64((a, b) => a + b), 'i64.sub': i64((a, b) => a - b), 'i64.shl': i64((a, b) => a << (b & 63n)), 'i64.shr_s': i64((a, b) => a >> (b & 63n)),
  'i64.reinterpret_f64': ([value]) => signed(bitsOf(value as number)),
  'f64.eq': f64Test((a, b) => a === b), 'f64.ne': f64Test((a, b) => a !== b), 'f64.lt': f64Test((a, b) => a < b), 'f64.gt': f64Test((a, b) => a > b),
  'f64.le': f64Test((a, b) => a <= b), 'f64.ge': f64Test((a, b) => a >= b),
  'f64.abs': f64(Math.abs), 'f64.neg': f64((a) => -a), 'f64.sqrt': f64(Math.sqrt),
  'f64.add': f64((a, b) => a + b), 'f64.sub': f64((a, b) => a - b), 'f64.mul': f64((a, b) => a * b), 'f64.div': f64((a, b) => a / b),
  'f64.convert_i32_s': ([value]) => value as number, 'f64.convert_i64_s': ([value]) => Number(value as bigint), 'f64.reinterpret_i64': ([value]) => floatOf(unsigned(value as bigint)),
  'i64x2.splat': ([value]) => [unsigned(value as bigint), unsigned(value as bigint)], 'f64x2.splat': ([value]) => [bitsOf(value as number), bitsOf(value as number)],
  'f64x2.extract_lane': ([value], lane) => floatOf((value as Pair)[lane]!),
  'f64x2.replace_lane': ([value, replacement], lane) => {
    const [low, high] = value as Pair;
    return lane === 0 ? [bitsOf(replacement as number), high] : [low, bitsOf(replacement as number)];
  },
  'f64x2.eq': laneTests((a, b) => a === b), 'f64x2.ne': laneTests((a, b) => a !== b), 'f64x2.lt': laneTests((a, b) => a < b), 'f64x2.gt': laneTests((a, b) => a > b),
  'f64x2.le': laneTests((a, b) => a <= b), 'f64x2.ge': laneTests((a, b) => a >= b),
  'v128.not': eachLane((a) => ~a!), 'v128.and': eachLane((a, b) => a! & b!), 'v128.andnot': eachLane((a, b) => a! & ~b!), 'v128.or': eachLane((a, b) => a! | b!),
  'v128.xor': eachLane((a, b) => a! ^ b!), 'v128.bitselect': eachLane((a, b, mask) => (a! & mask!) | (b! & ~mask!)),
  'v128.any_true': truth((low, high) => (low | high) !== 0n), 'i64x2.all_true': truth((low, high) => low !== 0n && high !== 0n),
  'i64x2.bitmask': truth((low, high) => Number(low >> 63n) + 2 * Number(high >> 63n)),
  'i64x2.shl': shiftedLanes((lane, count) => lane << count), 'i64x2.shr_s': shiftedLanes((lane, count) => signed(lane) >> count),
  'i64x2.add': eachLane((a, b) => a! + b!), 'i64x2.sub': eachLane((a, b) => a! - b!),
  'f64x2.abs': eachLane((a) => a! & ~signBit), 'f64x2.neg': eachLane((a) => a! ^ signBit), 'f64x2.sqrt': lanesOfFloats(Math.sqrt),
  'f64x2.add': lanesOfFloats((a, b) => a + b), 'f64x2.sub': lanesOfFloats((a, b) => a - b), 'f64x2.mul': lanesOfFloats((a, b) => a * b), 'f64x2.div': lanesOfFloats((a, b) => a / b),
};

/** Operations whose NaN results may have any payload and sign (§4.3.3); of all others every bit is fixed. */
export const arithmetic: ReadonlySet<OperationName> = new Set<OperationName>([
  'f64.sqrt', 'f64.add', 'f64.sub', 'f64.mul', 'f64.div', 'f64x2.sqrt', 'f64x2.add', 'f64x2.sub', 'f64x2.mul', 'f64x2.div',
]);

/** Whether any float64 in it is not a number. */
export function hasNaN(value: Value): boolean {
  if (typeof value === 'number') return Number.isNaN(value);
  return typeof value === 'bigint' ? false : value.some((lane) => Number.isNaN(floatOf(lane)));
}

/** Every bit alike; with `anyNaN`, NaN equals NaN lane by lane. */
export function same(a: Value, b: Value, anyNaN: boolean): boolean {
  if (typeof a === 'object' && typeof b === 'object') {
    return a.every((lane, k) => lane === b[k] || (anyNaN && Number.isNaN(floatOf(lane)) && Number.isNaN(floatOf(b[k]!))));
  }
  return Object.is(a, b);
}
