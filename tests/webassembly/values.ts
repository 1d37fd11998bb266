/** Values of every type, and how they get into compiled code and back: scalars as operands, vectors through memory. */
import { defineFunction, get, giveBack, i32, load, local, store } from '../../dsp/webassembly/index.ts';
import type { Expression, FunctionCode, Local, ValueType } from '../../dsp/webassembly/index.ts';
import { instantiate, type Running } from './instantiate.ts';
import { bitsOf, floatOf, Trap, type Value } from './meanings.ts';

const floats = [0, -0, 1, -1, 0.1, -2.5, 3, 1e308, -1e308, 5e-324, 2 ** 31 - 0.5, -(2 ** 31) - 0.5, 2 ** 53 + 2, Infinity, -Infinity, NaN];
const longs = [0n, 1n, -1n, 2n, 31n, 52n, 63n, 64n, 65n, 2n ** 53n + 1n, 2n ** 63n - 1n, -(2n ** 63n), 0x1234_5678_9abc_def0n];

/** Of each type the values at which operations turn. */
export const edges: Readonly<Record<ValueType, readonly Value[]>> = {
  i32: [0, 1, -1, 7, 31, 32, 33, 63, 64, 65, 0x12345678, 2 ** 31 - 1, -(2 ** 31)],
  i64: longs,
  f64: floats,
  v128: [
    [0n, 0n],
    ...floats.map((value, k): Value => [bitsOf(value), bitsOf(floats[(k + 5) % floats.length]!)]),
    ...longs.map((value, k): Value => [BigInt.asUintN(64, value), BigInt.asUintN(64, longs[(k + 3) % longs.length]!)]),
  ],
};

const resultAt = 1024;

/** A function of `types` whose value `make` computes from them, ready to be called with plain values. A trap of the engine comes out as `Trap`. */
export function callable(types: readonly ValueType[], make: (operands: readonly Expression[]) => Expression, others: readonly FunctionCode[] = []): (operands: readonly Value[]) => Value {
  const parameters: Local[] = [];
  const operands = types.map((type, k) => {
    if (type === 'v128') return load('v128.load', i32(16 * k));
    const parameter = local(type, `operand${k}`);
    parameters.push(parameter);
    return get(parameter);
  });
  const value = make(operands);
  const code = defineFunction('run', parameters, value.type === 'v128' ? null : value.type);
  code.body.push(value.type === 'v128' ? store('v128.store', i32(resultAt), 0, value) : giveBack(value));
  const running = instantiate(code, ...others);
  return (given) => {
    given.forEach((operand, k) => typeof operand === 'object' && putVector(running, 16 * k, operand));
    let result: number | bigint | undefined;
    try {
      result = running.run['run']!(...(given.filter((operand) => typeof operand !== 'object')));
    } catch (error) {
      throw error instanceof WebAssembly.RuntimeError ? new Trap(error.message) : error;
    }
    return value.type === 'v128' ? vectorAt(running, resultAt) : result!;
  };
}

function putVector({ memory }: Running, at: number, [low, high]: readonly [bigint, bigint]): void {
  memory.setBigUint64(at, low, true);
  memory.setBigUint64(at + 8, high, true);
}

function vectorAt({ memory }: Running, at: number): Value {
  return [memory.getBigUint64(at, true), memory.getBigUint64(at + 8, true)];
}

/** For messages. */
export function shown(value: Value): string {
  if (typeof value === 'object') return `(${value.map((lane) => `0x${lane.toString(16)} = ${floatOf(lane)}`).join(', ')})`;
  return Object.is(value, -0) ? '-0' : String(value);
}
