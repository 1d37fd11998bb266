/** Everything of a function that is not an operation: memory, selection, loops, branches, calls. */
import { describe, expect, it } from 'vitest';
import {
  again, call, callOnly, copyMemory, countUp, defineFunction, f64, f64x2, get, giveBack, i32, i64, label, laneOperation, leave, load, local, operation, repeat, select, set, store, when,
} from '../../dsp/webassembly/index.ts';
import type { Expression, FunctionCode, Local, Statement } from '../../dsp/webassembly/index.ts';
import { instantiate } from './instantiate.ts';
import { bitsOf } from './meanings.ts';
import { callable } from './values.ts';

const plus = (a: Expression, b: Expression): Expression => operation('i32.add', a, b);

/** A function of i32 operands with an i32 result. */
function counting(names: readonly string[], body: (...operands: Local[]) => readonly Statement[], name = 'run'): FunctionCode {
  const parameters = names.map((operand) => local('i32', operand));
  const code = defineFunction(name, parameters, 'i32');
  code.body.push(...body(...parameters));
  return code;
}

describe('constants', () => {
  it.each([0, -0, 0.1, -1e-310, 5e-324, Number.MAX_VALUE, Infinity, -Infinity, NaN])('hold the float64 %s, once and twice', (value) => {
    expect(callable([], () => f64(value))([])).toBe(value);
    expect(callable([], () => f64x2(value))([])).toEqual([bitsOf(value), bitsOf(value)]);
  });
  it.each([0, 63, 64, -64, -65, 2 ** 31 - 1, -(2 ** 31)])('hold the i32 %s', (value) => expect(callable([], () => i32(value))([])).toBe(value));
  it.each([0n, 63n, 64n, -64n, -65n, 2n ** 63n - 1n, -(2n ** 63n)])('hold the i64 %s', (value) => expect(callable([], () => i64(value))([])).toBe(value));
});

describe('memory', () => {
  const at = local('i32', 'at');

  it.each([0, 8, 120, 128, 16_376, 16_384, 40_000])('is read and written at pointer plus %i bytes', (offset) => {
    const write = defineFunction('write', [at]);
    write.body.push(
      store('f64.store', get(at), offset, f64(-0.1)),
      store('i32.store', get(at), offset + 8, i32(-123_456_789)),
      store('v128.store', get(at), offset + 16, operation('f64x2.splat', f64(7.25))),
    );
    const readFloat = defineFunction('readFloat', [at], 'f64');
    readFloat.body.push(giveBack(load('f64.load', get(at), offset)));
    const readInteger = defineFunction('readInteger', [at], 'i32');
    readInteger.body.push(giveBack(load('i32.load', get(at), offset)));
    const { run, memory } = instantiate(write, readFloat, readInteger);
    run['write']!(96);
    expect(memory.getFloat64(96 + offset, true)).toBe(-0.1);
    expect(memory.getInt32(104 + offset, true)).toBe(-123_456_789);
    expect([memory.getFloat64(112 + offset, true), memory.getFloat64(120 + offset, true)]).toEqual([7.25, 7.25]);
    expect(run['readFloat']!(96)).toBe(-0.1);
    expect(run['readInteger']!(104)).toBe(-123_456_789);
  });

  it('is copied into both lanes, and stored lane by lane', () => {
    const move = defineFunction('move', []);
    const pair = local('v128', 'pair');
    move.body.push(
      store('v128.store', i32(32), 0, load('v128.load64_splat', i32(0), 8)),
      set(pair, load('v128.load', i32(0), 0)),
      store('v128.store64_lane', i32(64), 0, get(pair), 1),
      store('v128.store64_lane', i32(64), 8, get(pair), 0),
    );
    const { run, memory } = instantiate(move);
    memory.setFloat64(0, 1.5, true);
    memory.setFloat64(8, -2.5, true);
    run['move']!();
    expect([32, 40, 64, 72].map((address) => memory.getFloat64(address, true))).toEqual([-2.5, -2.5, -2.5, 1.5]);
  });

  it('need not be aligned', () => {
    const read = defineFunction('read', [at], 'f64');
    read.body.push(giveBack(laneOperation('f64x2.extract_lane', 1, load('v128.load', get(at), 0))));
    const { run, memory } = instantiate(read);
    memory.setFloat64(11, 3.25, true);
    expect(run['read']!(3)).toBe(3.25);
  });

  it.each([['forwards', 16, 20], ['backwards', 20, 16], ['apart', 400, 16]])('is copied %s, overlapping or not', (_, to, from) => {
    const bytes = local('i32', 'bytes');
    const target = local('i32', 'to');
    const source = local('i32', 'from');
    const copy = defineFunction('copy', [target, source, bytes]);
    copy.body.push(copyMemory(get(target), get(source), get(bytes)));
    const { run, memory } = instantiate(copy);
    const before = Array.from({ length: 200 }, (_, k) => (37 * k + 11) & 255);
    before.forEach((value, k) => memory.setUint8(from + k, value));
    run['copy']!(to, from, 200);
    expect(Array.from({ length: 200 }, (_, k) => memory.getUint8(to + k))).toEqual(before);
  });

  it('ends where it ends', () => {
    const read = defineFunction('read', [at], 'f64');
    read.body.push(giveBack(load('f64.load', get(at), 0)));
    const { run } = instantiate(read);
    expect(run['read']!(65_528)).toBe(0);
    expect(() => run['read']!(65_529)).toThrow(WebAssembly.RuntimeError);
  });
});

describe('select', () => {
  it('takes the first where the condition is not 0, for every type', () => {
    for (const condition of [1, -1, 256]) {
      expect(callable(['i32'], ([c]) => select(c!, f64(1), f64(2)))([condition])).toBe(1);
      expect(callable(['i32'], ([c]) => select(c!, i32(1), i32(2)))([condition])).toBe(1);
      expect(callable(['i32'], ([c]) => select(c!, i64(1n), i64(2n)))([condition])).toBe(1n);
    }
    expect(callable(['i32'], ([c]) => select(c!, f64x2(1), f64x2(2)))([0])).toEqual([bitsOf(2), bitsOf(2)]);
    expect(callable(['i32'], ([c]) => select(c!, f64(1), f64(2)))([0])).toBe(2);
  });
});

describe('branches and loops', () => {
  it('run one side of an if, or neither', () => {
    const result = local('i32', 'result');
    const { run } = instantiate(counting(['x'], (x) => [
      when(operation('i32.gt_s', get(x!), i32(0)), [set(result, i32(1))], [when(operation('i32.lt_s', get(x!), i32(0)), [set(result, i32(-1))])]),
      giveBack(get(result)),
    ]));
    expect([5, 0, -5].map((x) => run['run']!(x))).toEqual([1, 0, -1]);
  });

  it('count up while below an end that may move', () => {
    const k = local('i32', 'k');
    const sum = local('i32', 'sum');
    const { run } = instantiate(counting(['from', 'end'], (from, end) => [
      ...countUp(k, get(from!), get(end!), 3, [set(sum, plus(get(sum), get(k))), when(operation('i32.eq', get(k), i32(6)), [set(end!, i32(10))])]),
      giveBack(plus(operation('i32.mul', get(sum), i32(100)), get(k))),
    ]));
    expect(run['run']!(0, 5)).toBe((0 + 3) * 100 + 6);
    expect(run['run']!(5, 5)).toBe(0 * 100 + 5);
    expect(run['run']!(0, 100)).toBe((0 + 3 + 6 + 9) * 100 + 12);
  });

  it('leave and repeat the loop that is named, from inside other loops and ifs', () => {
    // Pairs (a, b) with a, b = 1 … 9: counts those with a·b odd, stops for good at a·b = 35, passes over a = 3.
    const [a, b, count] = [local('i32', 'a'), local('i32', 'b'), local('i32', 'count')];
    const [rows, row] = [label('rows'), label('row')];
    const product = operation('i32.mul', get(a), get(b));
    const { run } = instantiate(counting([], () => [
      repeat(rows, [
        set(a, plus(get(a), i32(1))),
        when(operation('i32.gt_s', get(a), i32(9)), [leave(rows)]),
        set(b, i32(0)),
        repeat(row, [
          set(b, plus(get(b), i32(1))),
          when(operation('i32.gt_s', get(b), i32(9)), [leave(row)]),
          when(operation('i32.eq', get(a), i32(3)), [again(rows)]),
          when(operation('i32.eq', product, i32(35)), [when(i32(1), [leave(rows)])]),
          when(operation('i32.eqz', operation('i32.and', product, i32(1))), [again(row)]),
          set(count, plus(get(count), i32(1))),
          again(row),
        ]),
        again(rows),
      ]),
      giveBack(get(count)),
    ]));
    let expected = 0;
    outer: for (let x = 1; x <= 9; x += 1) {
      if (x === 3) continue;
      for (let y = 1; y <= 9; y += 1) {
        if (x * y === 35) break outer;
        if ((x * y) % 2 === 1) expected += 1;
      }
    }
    expect(run['run']!()).toBe(expected);
  });

  it('end a loop that repeats nothing, and return from the middle of one', () => {
    const k = local('i32', 'k');
    const once = label('once');
    const { run } = instantiate(
      counting([], () => [repeat(once, [set(k, plus(get(k), i32(1)))]), giveBack(get(k))], 'fallsThrough'),
      counting(['wanted'], (wanted) => [...countUp(k, i32(0), i32(1000), 1, [when(operation('i32.eq', operation('i32.mul', get(k), get(k)), get(wanted!)), [giveBack(get(k))])]), giveBack(i32(-1))], 'root'),
    );
    expect(run['fallsThrough']!()).toBe(1);
    expect(run['root']!(144)).toBe(12);
    expect(run['root']!(145)).toBe(-1);
  });
});

describe('calls', () => {
  it('pass operands in order, give values, and reach functions before and after', () => {
    const total = defineFunction('total', [], 'f64');
    const subtract = defineFunction('subtract', [local('f64', 'a'), local('f64', 'b')], 'f64');
    subtract.body.push(giveBack(operation('f64.sub', get(subtract.parameters[0]!), get(subtract.parameters[1]!))));
    const put = defineFunction('put', [local('i32', 'at'), local('f64', 'value')]);
    put.body.push(store('f64.store', get(put.parameters[0]!), 0, get(put.parameters[1]!)));
    total.body.push(
      callOnly(put, i32(8), call(subtract, f64(10), f64(4))),
      giveBack(operation('f64.add', call(subtract, load('f64.load', i32(8)), f64(1)), f64(100))),
    );
    expect(instantiate(subtract, total, put).run['total']!()).toBe(105);
  });

  it('reach the function itself', () => {
    const factorial = counting(['n'], () => [], 'factorial');
    const n = get(factorial.parameters[0]!);
    factorial.body.push(
      when(operation('i32.le_s', n, i32(1)), [giveBack(i32(1))]),
      giveBack(operation('i32.mul', n, call(factorial, operation('i32.sub', n, i32(1))))),
    );
    expect(instantiate(factorial).run['factorial']!(10)).toBe(3_628_800);
  });

  it('keep locals of two calls apart, starting at 0', () => {
    const grown = local('i32', 'grown');
    const { run } = instantiate(counting(['by'], (by) => [set(grown, plus(get(grown), get(by!))), giveBack(get(grown))]));
    expect([run['run']!(3), run['run']!(4)]).toEqual([3, 4]);
  });
});
