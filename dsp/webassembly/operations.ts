/**
 * The instructions code can be written with, by their names in the text format of the WebAssembly core specification 2.0 (W3C 2022; opcodes from its
 * appendix "Index of Instructions"): what they take, what they give, and their bytes. Kernels need most of them, tests of the assembler the rest.
 * Loads, stores, constants, locals, calls and control are not here (`encode.ts`).
 */
export type ValueType = 'i32' | 'i64' | 'f64' | 'v128';

export interface OperationShape {
  readonly operands: readonly ValueType[];
  readonly result: ValueType;
  /** Opcode, after the prefix if it has one. */
  readonly code: number;
  /** 0xfd: the code is LEB128-coded after this byte. */
  readonly prefix?: 0xfd;
  /** Takes a lane index as its immediate. */
  readonly lane?: true;
}

const scalar = (operands: readonly ValueType[], result: ValueType, code: number): OperationShape => ({ operands, result, code });
const vector = (operands: readonly ValueType[], result: ValueType, code: number): OperationShape => ({ operands, result, code, prefix: 0xfd });
const ofLane = (operands: readonly ValueType[], result: ValueType, code: number): OperationShape => ({ operands, result, code, prefix: 0xfd, lane: true });
const two = (type: ValueType): readonly ValueType[] => [type, type];

export const operations = {
  'i32.eqz': scalar(['i32'], 'i32', 0x45), 'i32.eq': scalar(two('i32'), 'i32', 0x46), 'i32.ne': scalar(two('i32'), 'i32', 0x47),
  'i32.lt_s': scalar(two('i32'), 'i32', 0x48), 'i32.gt_s': scalar(two('i32'), 'i32', 0x4a), 'i32.le_s': scalar(two('i32'), 'i32', 0x4c),
  'i32.ge_s': scalar(two('i32'), 'i32', 0x4e), 'i32.add': scalar(two('i32'), 'i32', 0x6a), 'i32.sub': scalar(two('i32'), 'i32', 0x6b),
  'i32.mul': scalar(two('i32'), 'i32', 0x6c), 'i32.and': scalar(two('i32'), 'i32', 0x71), 'i32.or': scalar(two('i32'), 'i32', 0x72),
  'i32.xor': scalar(two('i32'), 'i32', 0x73), 'i32.shl': scalar(two('i32'), 'i32', 0x74), 'i32.shr_u': scalar(two('i32'), 'i32', 0x76),
  'i32.wrap_i64': scalar(['i64'], 'i32', 0xa7), 'i32.trunc_f64_s': scalar(['f64'], 'i32', 0xaa),
  'i64.add': scalar(two('i64'), 'i64', 0x7c), 'i64.sub': scalar(two('i64'), 'i64', 0x7d), 'i64.shl': scalar(two('i64'), 'i64', 0x86),
  'i64.shr_s': scalar(two('i64'), 'i64', 0x87), 'i64.reinterpret_f64': scalar(['f64'], 'i64', 0xbd),
  'f64.eq': scalar(two('f64'), 'i32', 0x61), 'f64.ne': scalar(two('f64'), 'i32', 0x62), 'f64.lt': scalar(two('f64'), 'i32', 0x63),
  'f64.gt': scalar(two('f64'), 'i32', 0x64), 'f64.le': scalar(two('f64'), 'i32', 0x65), 'f64.ge': scalar(two('f64'), 'i32', 0x66),
  'f64.abs': scalar(['f64'], 'f64', 0x99), 'f64.neg': scalar(['f64'], 'f64', 0x9a), 'f64.sqrt': scalar(['f64'], 'f64', 0x9f),
  'f64.add': scalar(two('f64'), 'f64', 0xa0), 'f64.sub': scalar(two('f64'), 'f64', 0xa1), 'f64.mul': scalar(two('f64'), 'f64', 0xa2),
  'f64.div': scalar(two('f64'), 'f64', 0xa3), 'f64.convert_i32_s': scalar(['i32'], 'f64', 0xb7), 'f64.convert_i64_s': scalar(['i64'], 'f64', 0xb9),
  'f64.reinterpret_i64': scalar(['i64'], 'f64', 0xbf),
  'i64x2.splat': vector(['i64'], 'v128', 0x12), 'f64x2.splat': vector(['f64'], 'v128', 0x14),
  'f64x2.extract_lane': ofLane(['v128'], 'f64', 0x21), 'f64x2.replace_lane': ofLane(['v128', 'f64'], 'v128', 0x22),
  'f64x2.eq': vector(two('v128'), 'v128', 0x47), 'f64x2.ne': vector(two('v128'), 'v128', 0x48), 'f64x2.lt': vector(two('v128'), 'v128', 0x49),
  'f64x2.gt': vector(two('v128'), 'v128', 0x4a), 'f64x2.le': vector(two('v128'), 'v128', 0x4b), 'f64x2.ge': vector(two('v128'), 'v128', 0x4c),
  'v128.not': vector(['v128'], 'v128', 0x4d), 'v128.and': vector(two('v128'), 'v128', 0x4e), 'v128.andnot': vector(two('v128'), 'v128', 0x4f),
  'v128.or': vector(two('v128'), 'v128', 0x50), 'v128.xor': vector(two('v128'), 'v128', 0x51),
  'v128.bitselect': vector(['v128', 'v128', 'v128'], 'v128', 0x52), 'v128.any_true': vector(['v128'], 'i32', 0x53),
  'i64x2.all_true': vector(['v128'], 'i32', 0xc3), 'i64x2.bitmask': vector(['v128'], 'i32', 0xc4),
  'i64x2.shl': vector(['v128', 'i32'], 'v128', 0xcb), 'i64x2.shr_s': vector(['v128', 'i32'], 'v128', 0xcc),
  'i64x2.add': vector(two('v128'), 'v128', 0xce), 'i64x2.sub': vector(two('v128'), 'v128', 0xd1),
  'f64x2.abs': vector(['v128'], 'v128', 0xec), 'f64x2.neg': vector(['v128'], 'v128', 0xed), 'f64x2.sqrt': vector(['v128'], 'v128', 0xef),
  'f64x2.add': vector(two('v128'), 'v128', 0xf0), 'f64x2.sub': vector(two('v128'), 'v128', 0xf1), 'f64x2.mul': vector(two('v128'), 'v128', 0xf2),
  'f64x2.div': vector(two('v128'), 'v128', 0xf3),
} as const satisfies Record<string, OperationShape>;

export type OperationName = keyof typeof operations;

/** What a load gives; bytes as above, all with a memory immediate. `load64_splat` puts one float64 in both lanes. */
export const loads = {
  'i32.load': { result: 'i32', code: 0x28, alignment: 2 },
  'f64.load': { result: 'f64', code: 0x2b, alignment: 3 },
  'v128.load': { result: 'v128', code: 0x00, prefix: 0xfd, alignment: 4 },
  'v128.load64_splat': { result: 'v128', code: 0x0a, prefix: 0xfd, alignment: 3 },
} as const;
export type LoadName = keyof typeof loads;

/** What a store takes. `store64_lane` writes one lane. */
export const stores = {
  'i32.store': { operand: 'i32', code: 0x36, alignment: 2 },
  'f64.store': { operand: 'f64', code: 0x39, alignment: 3 },
  'v128.store': { operand: 'v128', code: 0x0b, prefix: 0xfd, alignment: 4 },
  'v128.store64_lane': { operand: 'v128', code: 0x5b, prefix: 0xfd, alignment: 3, lane: true },
} as const;
export type StoreName = keyof typeof stores;
