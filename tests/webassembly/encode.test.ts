import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  ByteSink, call, callOnly, defineFunction, encodeModule, f64, get, giveBack, i32, i64, label, laneOperation, leave, load, local, again, operation, repeat, select, set, store, when,
} from '../../dsp/webassembly/index.ts';
import type { FunctionCode, Statement } from '../../dsp/webassembly/index.ts';
import { ByteReader, readModule } from './module-reader.ts';

const seed = { seed: 20261125 };

/** What `write` writes. */
function writtenBy(write: (sink: ByteSink) => void): number[] {
  const sink = new ByteSink();
  write(sink);
  return [...sink.bytes()];
}

const unsignedLeb128 = (value: number): number[] => writtenBy((sink) => sink.unsigned(value));
const signedLeb128 = (value: bigint): number[] => writtenBy((sink) => sink.signed64(value));

describe('a byte sink', () => {
  it('keeps what is written, however much, and takes in another', () => {
    const [first, second] = [new ByteSink(), new ByteSink()];
    const expected = Array.from({ length: 1000 }, (_, k) => (7 * k) & 255);
    for (const value of expected) first.byte(value);
    for (let k = 0; k < 3; k += 1) second.append(first);
    expect([...second.bytes()]).toEqual([...expected, ...expected, ...expected]);
    expect(second.length).toBe(3000);
    expect([...first.bytes()]).toEqual(expected);
  });

  it('writes float64s with the lowest byte first', () => {
    expect(writtenBy((sink) => sink.float64(-2))).toEqual([0, 0, 0, 0, 0, 0, 0, 0xc0]);
    expect(writtenBy((sink) => sink.float64(5e-324))).toEqual([1, 0, 0, 0, 0, 0, 0, 0]);
  });
});

describe('LEB128', () => {
  // Examples of the DWARF debugging format 4 (2010), figures 22 and 23, where the code comes from; from memory.
  it.each([
    [2, [0x02]], [127, [0x7f]], [128, [0x80, 0x01]], [129, [0x81, 0x01]], [130, [0x82, 0x01]], [12857, [0xb9, 0x64]],
    [0, [0x00]], [0xffffffff, [0xff, 0xff, 0xff, 0xff, 0x0f]],
  ])('writes unsigned %s', (value, bytes) => expect(unsignedLeb128(value)).toEqual(bytes));

  it.each([
    [2n, [0x02]], [-2n, [0x7e]], [127n, [0xff, 0x00]], [-127n, [0x81, 0x7f]], [128n, [0x80, 0x01]], [-128n, [0x80, 0x7f]], [129n, [0x81, 0x01]], [-129n, [0xff, 0x7e]],
    [0n, [0x00]], [-1n, [0x7f]], [63n, [0x3f]], [64n, [0xc0, 0x00]], [-64n, [0x40]], [-65n, [0xbf, 0x7f]],
  ])('writes signed %s', (value, bytes) => expect(signedLeb128(value)).toEqual(bytes));

  it('is read back at every edge and anywhere between, and is never longer than it must be', () => {
    const unsignedEdges = Array.from({ length: 32 }, (_, k) => 2 ** k).flatMap((power) => [power - 1, power]).concat(2 ** 32 - 1);
    const signedEdges = Array.from({ length: 63 }, (_, k) => 2n ** BigInt(k)).flatMap((power) => [power, power - 1n, -power, -power - 1n]).concat(-(2n ** 63n), 2n ** 63n - 1n);
    const unsignedHolds = (value: number): void => {
      const bytes = unsignedLeb128(value);
      expect(new ByteReader(Uint8Array.from(bytes)).unsigned()).toBe(BigInt(value));
      expect(bytes.length).toBe(Math.max(1, Math.ceil(value.toString(2).length / 7)));
    };
    const signedHolds = (value: bigint): void => {
      const bytes = signedLeb128(value);
      expect(new ByteReader(Uint8Array.from(bytes)).signed()).toBe(value);
      const bits = (value < 0n ? -value - 1n : value).toString(2).replace(/^0$/, '').length + 1;
      expect(bytes.length).toBe(Math.ceil(bits / 7));
    };
    const shortHolds = (value: number): void => { expect(writtenBy((sink) => sink.signed32(value))).toEqual(signedLeb128(BigInt(value))); };
    signedEdges.map(Number).filter((value) => value >= -(2 ** 31) && value < 2 ** 31).forEach(shortHolds);
    fc.assert(fc.property(fc.integer(), shortHolds), seed);
    unsignedEdges.forEach(unsignedHolds);
    signedEdges.forEach(signedHolds);
    fc.assert(fc.property(fc.integer({ min: 0, max: 2 ** 32 - 1 }), unsignedHolds), seed);
    fc.assert(fc.property(fc.bigInt({ min: -(2n ** 63n), max: 2n ** 63n - 1n }), signedHolds), seed);
  });

  it.each([-1, 0.5, NaN, 2 ** 32, Infinity])('refuses unsigned %s', (value) => expect(() => unsignedLeb128(value)).toThrow(`expected an integer of 0 … 2^32 − 1, got ${value}`));
  it.each([2n ** 63n, -(2n ** 63n) - 1n])('refuses signed %s', (value) => expect(() => signedLeb128(value)).toThrow(RangeError));
});

function returning(name: string, ...body: readonly Statement[]): FunctionCode {
  const code = defineFunction(name, [], 'f64');
  code.body.push(...body);
  return code;
}

describe('encodeModule', () => {
  const left = local('f64', 'left');
  const count = local('i32', 'count');
  const sum = defineFunction('sum', [left, count], 'f64');
  const pair = local('v128', 'pair');
  const more = local('f64', 'more');
  const step = local('i32', 'step');
  const again64 = local('f64', 'again');
  sum.body.push(
    set(more, get(left)),
    set(step, get(count)),
    set(pair, operation('f64x2.splat', get(more))),
    set(again64, get(more)),
    giveBack(operation('f64.add', get(again64), laneOperation('f64x2.extract_lane', 1, get(pair)))),
  );
  const silent = defineFunction('silent', []);
  const twin = defineFunction('twin', [local('f64', 'a'), local('i32', 'b')], 'f64');
  twin.body.push(giveBack(f64(0)));
  const bytes = encodeModule({ functions: [sum, silent, twin], exports: { sum, nothing: silent } });
  const contents = readModule(bytes);

  it('writes the header, then sections in the order of their numbers', () => {
    expect(contents.magic).toEqual([0x00, 0x61, 0x73, 0x6d]);
    expect(contents.version).toEqual([1, 0, 0, 0]);
    expect(contents.sections).toEqual([1, 2, 3, 7, 10]);
    expect(WebAssembly.validate(bytes)).toBe(true);
  });

  it('imports one memory of at least one page, and nothing else', () => {
    expect(contents.imports).toEqual([{ module: 'bench', field: 'memory', kind: 2, limits: [1] }]);
  });

  it('writes each function type once', () => {
    expect(contents.types).toEqual([{ parameters: [0x7c, 0x7f], results: [0x7c] }, { parameters: [], results: [] }]);
    expect(contents.functions).toEqual([0, 1, 0]);
  });

  it('exports functions under their names', () => {
    expect(contents.exports).toEqual([{ name: 'sum', kind: 0, number: 0 }, { name: 'nothing', kind: 0, number: 1 }]);
  });

  it('declares locals of one type together, parameters not among them, and ends each body', () => {
    expect(contents.bodies.map(({ locals }) => locals)).toEqual([[{ count: 1, type: 0x7f }, { count: 2, type: 0x7c }, { count: 1, type: 0x7b }], [], []]);
    for (const { lastByte } of contents.bodies) expect(lastByte).toBe(0x0b);
    expect(contents.bodies[1]!.instructionBytes).toBe(1);
  });

  it('stays valid with more functions, locals and bytes than one LEB128 byte counts', () => {
    const functions = Array.from({ length: 150 }, (_, k) => {
      const locals = Array.from({ length: 150 }, (_, index) => local('f64', `x${index}`));
      return returning(`f${k}`, ...locals.map((variable) => set(variable, f64(k))), giveBack(get(locals[k]!)));
    });
    const large = encodeModule({ functions, exports: Object.fromEntries(functions.map((code) => [code.name, code])) });
    expect(readModule(large).bodies.every(({ locals }) => locals.length === 1 && locals[0]!.count === 150)).toBe(true);
    const memory = new WebAssembly.Memory({ initial: 1 });
    const instance = new WebAssembly.Instance(new WebAssembly.Module(large), { bench: { memory } });
    functions.forEach(({ name }, k) => expect((instance.exports[name] as () => number)()).toBe(k));
  });

  it('refuses a function that is not in the module, called or exported, and names both', () => {
    const foreign = returning('foreign', giveBack(f64(1)));
    const caller = returning('caller', giveBack(call(foreign)));
    expect(() => encodeModule({ functions: [caller], exports: {} })).toThrow('function "foreign": expected one of the module\'s own (caller)');
    expect(() => encodeModule({ functions: [caller], exports: { foreign } })).toThrow('function "foreign"');
    expect(WebAssembly.validate(encodeModule({ functions: [caller, foreign], exports: {} }))).toBe(true);
  });

  it('refuses to leave or repeat a loop from outside', () => {
    const outer = label('outer');
    for (const jump of [leave(outer), again(outer)]) {
      const code = defineFunction('jumper', []);
      code.body.push(repeat(outer, [leave(outer)]), jump);
      expect(() => encodeModule({ functions: [code], exports: {} })).toThrow('function "jumper": expected to be inside the loop "outer"');
    }
  });

  it('refuses names that are not printable ASCII', () => {
    const code = defineFunction('f', []);
    for (const name of ['', 'größe', 'a\nb']) expect(() => encodeModule({ functions: [code], exports: { [name]: code } })).toThrow('expected printable ASCII');
  });
});

describe('the makers', () => {
  const nothing = defineFunction('nothing', []);
  const half = defineFunction('half', [local('f64', 'x')], 'f64');
  const wide = get(local('v128', 'wide'));
  it.each([
    ['operands of an operation', () => operation('f64.add', f64(1), i32(1)), 'f64.add: expected operands (f64, f64), got (f64, i32)'],
    ['their number', () => operation('f64.neg', f64(1), f64(2)), 'f64.neg: expected operands (f64), got (f64, f64)'],
    ['a vector beside a scalar', () => operation('f64x2.add', wide, f64(1)), 'f64x2.add: expected operands (v128, v128), got (v128, f64)'],
    ['both sides of a select', () => select(i32(1), f64(1), i64(1n)), 'select: expected operands (i32, f64, f64), got (i32, f64, i64)'],
    ['the condition of a select', () => select(f64(1), f64(1), f64(1)), 'select: expected operands (i32, f64, f64), got (f64, f64, f64)'],
    ['a condition', () => when(f64(1), []), 'if: expected operands (i32), got (f64)'],
    ['an address', () => load('f64.load', f64(0)), 'f64.load: expected operands (i32), got (f64)'],
    ['what is stored', () => store('f64.store', i32(0), 0, i32(0)), 'f64.store: expected operands (i32, f64), got (i32, i32)'],
    ['what a local is set to', () => set(local('i32', 'k'), f64(1)), 'k: expected operands (i32), got (f64)'],
    ['what a function is called with', () => call(half, i32(1)), 'half: expected operands (f64), got (i32)'],
    ['a value of a function without one', () => call(nothing), 'nothing: expected a function with a result, got one without'],
    ['a function whose value is dropped', () => callOnly(half, f64(1)), 'half: expected a function without a result, got one with'],
  ])('check %s', (_, make, message) => expect(make).toThrow(new TypeError(message)));

  it.each([2 ** 31, -(2 ** 31) - 1, 0.5, NaN])('refuse i32 %s', (value) => expect(() => i32(value)).toThrow('i32: expected an integer'));
  it.each([2, -1, 0.5])('refuse lane %s', (lane) => {
    expect(() => laneOperation('f64x2.extract_lane', lane, wide)).toThrow(`f64x2.extract_lane: expected lane 0 or 1, got ${lane}`);
    expect(() => store('v128.store64_lane', i32(0), 0, wide, lane)).toThrow(`v128.store64_lane: expected lane 0 or 1, got ${lane}`);
  });
});
