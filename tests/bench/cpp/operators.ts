/** How each instruction is written in C++, from its operands' text. Those of `operations` alone: a name that is missing here does not compile. */
import type { OperationName } from '../../../dsp/webassembly/index.ts';

export type Writer = (operands: readonly string[], lane: number) => string;

const between = (sign: string): Writer => ([a, b]) => `(${a} ${sign} ${b})`;
/** Truth as an i32. */
const judged = (sign: string): Writer => ([a, b]) => `std::int32_t(${a} ${sign} ${b})`;
/** Unsigned, so that it wraps. */
const wrapping = (sign: string, bits: 32 | 64): Writer => ([a, b]) => `std::int${bits}_t(std::uint${bits}_t(${a}) ${sign} std::uint${bits}_t(${b}))`;
const comparedLanes = (sign: string): Writer => ([a, b]) => `number(${a} ${sign} ${b})`;
const onBits = (sign: string): Writer => ([a, b]) => `number(bits(${a}) ${sign} bits(${b}))`;

export const operators: Readonly<Record<OperationName, Writer>> = {
  'i32.eqz': ([a]) => `std::int32_t(${a} == 0)`, 'i32.eq': judged('=='), 'i32.ne': judged('!='), 'i32.lt_s': judged('<'), 'i32.gt_s': judged('>'), 'i32.le_s': judged('<='), 'i32.ge_s': judged('>='),
  'i32.add': wrapping('+', 32), 'i32.sub': wrapping('-', 32), 'i32.mul': wrapping('*', 32), 'i32.and': between('&'), 'i32.or': between('|'), 'i32.xor': between('^'),
  'i32.shl': ([a, b]) => `std::int32_t(std::uint32_t(${a}) << (${b} & 31))`, 'i32.shr_u': ([a, b]) => `std::int32_t(std::uint32_t(${a}) >> (${b} & 31))`,
  'i32.wrap_i64': ([a]) => `std::int32_t(${a})`, 'i32.trunc_f64_s': ([a]) => `std::int32_t(${a})`,
  'i64.add': wrapping('+', 64), 'i64.sub': wrapping('-', 64), 'i64.shl': ([a, b]) => `std::int64_t(std::uint64_t(${a}) << (${b} & 63))`, 'i64.shr_s': ([a, b]) => `(${a} >> (${b} & 63))`,
  'i64.reinterpret_f64': ([a]) => `reinterpretedBits(${a})`, 'f64.reinterpret_i64': ([a]) => `reinterpretedNumber(${a})`,
  'f64.eq': judged('=='), 'f64.ne': judged('!='), 'f64.lt': judged('<'), 'f64.gt': judged('>'), 'f64.le': judged('<='), 'f64.ge': judged('>='),
  'f64.abs': ([a]) => `__builtin_fabs(${a})`, 'f64.neg': ([a]) => `(-${a})`, 'f64.sqrt': ([a]) => `__builtin_sqrt(${a})`,
  'f64.add': between('+'), 'f64.sub': between('-'), 'f64.mul': between('*'), 'f64.div': between('/'),
  'f64.convert_i32_s': ([a]) => `double(${a})`, 'f64.convert_i64_s': ([a]) => `double(${a})`,
  'i64x2.splat': ([a]) => `number(i64x2{${a}, ${a}})`, 'f64x2.splat': ([a]) => `splat(${a})`,
  'f64x2.extract_lane': ([a], lane) => `${a}[${lane}]`, 'f64x2.replace_lane': ([a, b], lane) => `replacedLane(${a}, ${lane}, ${b})`,
  'f64x2.eq': comparedLanes('=='), 'f64x2.ne': comparedLanes('!='), 'f64x2.lt': comparedLanes('<'), 'f64x2.gt': comparedLanes('>'), 'f64x2.le': comparedLanes('<='), 'f64x2.ge': comparedLanes('>='),
  'v128.not': ([a]) => `number(~bits(${a}))`, 'v128.and': onBits('&'), 'v128.andnot': ([a, b]) => `number(bits(${a}) & ~bits(${b}))`, 'v128.or': onBits('|'), 'v128.xor': onBits('^'),
  'v128.bitselect': ([a, b, mask]) => `bitSelected(${a}, ${b}, ${mask})`, 'v128.any_true': ([a]) => `std::int32_t(filledLanes(${a}) != 0)`,
  'i64x2.all_true': ([a]) => `std::int32_t(filledLanes(${a}) == 3)`, 'i64x2.bitmask': ([a]) => `std::int32_t(signMask(${a}))`,
  'i64x2.shl': ([a, b]) => `number(bits(${a}) << (${b} & 63))`, 'i64x2.shr_s': ([a, b]) => `number(bits(${a}) >> (${b} & 63))`,
  'i64x2.add': onBits('+'), 'i64x2.sub': onBits('-'),
  'f64x2.abs': ([a]) => `magnitude(${a})`, 'f64x2.neg': ([a]) => `(-${a})`, 'f64x2.sqrt': ([a]) => `root(${a})`,
  'f64x2.add': between('+'), 'f64x2.sub': between('-'), 'f64x2.mul': between('*'), 'f64x2.div': between('/'),
};

/** Shorter ways where the operand that is a mask has all ones or all zeros in each lane. */
export const maskOperators: Readonly<Partial<Record<OperationName, Writer>>> = {
  'v128.bitselect': ([a, b, mask]) => `laneSelected(${a}, ${b}, ${mask})`,
  'v128.any_true': ([a]) => `std::int32_t(signMask(${a}) != 0)`,
  'i64x2.all_true': ([a]) => `std::int32_t(signMask(${a}) == 3)`,
};

const comparisons: readonly OperationName[] = ['f64x2.eq', 'f64x2.ne', 'f64x2.lt', 'f64x2.gt', 'f64x2.le', 'f64x2.ge'];
const masksOfMasks: readonly OperationName[] = ['v128.not', 'v128.and', 'v128.andnot', 'v128.or', 'v128.xor', 'v128.bitselect'];

export const givesMask = (name: OperationName): boolean => comparisons.includes(name);
/** Gives a mask where all its operands are masks. */
export const keepsMask = (name: OperationName): boolean => masksOfMasks.includes(name);
