// The translator of the yardstick: C++ made of trees of instructions leaves the same memory as WebAssembly made of them.
import { execFileSync } from 'node:child_process';
import { afterAll, describe, expect, it } from 'vitest';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import {
  again, call, callOnly, copyMemory, countUp, defineFunction, encodeModule, expCode, f64, f64x2, functionOf, get, giveBack, i32, label, laneOperation, leave, load, local, logCode, memoryImport,
  operation, operations, repeat, scalarLane, select, set, store, tanhCode, vectorLanes, when,
} from '../../dsp/webassembly/index.ts';
import type { Expression, FunctionCode, OperationName, Statement, ValueType } from '../../dsp/webassembly/index.ts';
import { buildProgramOf, compilerIsInstalled, nativeOptions, plainOptions } from './cpp/build.ts';
import { masksOf } from './cpp/masks.ts';
import { translateModule } from './cpp/translate.ts';

const bytes = 65_536;
const main = `#include <cstdio>
int main(int, char **words) {
  std::FILE *file = std::fopen(words[1], "r+b");
  if (!file || std::fread(memory, 1, memoryBytes, file) != memoryBytes) return 2;
  exported_work();
  std::rewind(file);
  if (std::fwrite(memory, 1, memoryBytes, file) != memoryBytes) return 2;
  return std::fclose(file);
}
`;
const folder = mkdtempSync(join(tmpdir(), 'stagebench-translate-'));
afterAll(() => rmSync(folder, { recursive: true }));

/** Both memories after `work()`. */
function memories(name: string, functions: readonly FunctionCode[], work: FunctionCode, start: Float64Array, options: readonly string[]) {
  const module = { functions: [...functions, work], exports: { work } };
  const memory = new WebAssembly.Memory({ initial: 1, maximum: 1 });
  const ours = new Float64Array(memory.buffer);
  ours.set(start);
  const file = join(folder, 'memory');
  writeFileSync(file, new Uint8Array(memory.buffer));
  const instance = new WebAssembly.Instance(new WebAssembly.Module(encodeModule(module)), { [memoryImport.module]: { [memoryImport.field]: memory } });
  (instance.exports['work'] as () => void)();
  execFileSync(buildProgramOf(`test-${name}`, translateModule(module, bytes) + main, options), [file]);
  const theirs = new Float64Array(new Uint8Array(readFileSync(file)).buffer);
  return { ours, theirs };
}

/** Places where the bits differ, NaN for NaN allowed. */
function differences({ ours, theirs }: { ours: Float64Array; theirs: Float64Array }): string[] {
  const [a, b] = [new BigUint64Array(ours.buffer), new BigUint64Array(theirs.buffer)];
  return Array.from(a.keys()).filter((k) => a[k] !== b[k] && !(Number.isNaN(ours[k]) && Number.isNaN(theirs[k]))).map((k) => `${k}: ${ours[k]} (${a[k]!.toString(16)}), C++ ${theirs[k]} (${b[k]!.toString(16)})`);
}

const values = [0, -0, 1, -1, 0.1, -2.5, 3, 1e-310, -1e300, 1e300, Infinity, -Infinity, NaN, 1023.9999, -7.25, 4503599627370497];
const integers = [0, 1, -1, 7, 31, 52, -2147483648, 2147483647];
const longs = [0n, 1n, -1n, 52n, 0x3ff0_0000_0000_0000n, -0x8000_0000_0000_0000n, 0x7fff_ffff_ffff_ffffn];

/** Operands that lie in memory, so that no compiler can know them: from the middle of it on, 16 bytes each. */
class Operands {
  readonly start = new Float64Array(bytes / 8);
  private readonly places = new Map<string, number>();

  hidden(type: ValueType, key: number, other = key, long = 0n): Expression {
    const name = `${type} ${Object.is(key, -0) ? '-0' : key} ${Object.is(other, -0) ? '-0' : other} ${long}`;
    const place = this.places.get(name) ?? bytes / 2 + 16 * this.places.size;
    this.places.set(name, place);
    const view = new DataView(this.start.buffer);
    if (type === 'i32') view.setInt32(place, key, true);
    else if (type === 'i64') view.setBigInt64(place, long, true);
    else this.start.set([key, other], place / 8);
    if (type === 'i64') return operation('i64.reinterpret_f64', load('f64.load', i32(place)));
    return load(type === 'i32' ? 'i32.load' : type === 'f64' ? 'f64.load' : 'v128.load', i32(place));
  }
}

/** Operand tuples of an operation, at most so many. */
function tuples(name: OperationName, operands: Operands, most: number): Expression[][] {
  const choices = operations[name].operands.map((type, place): Expression[] => {
    if (type === 'i32') return (name === 'i64x2.shl' || name === 'i64x2.shr_s' ? [0, 1, 52, 63] : integers).map((value) => operands.hidden(type, value));
    if (type === 'i64') return longs.map((value) => operands.hidden(type, 0, 0, value));
    if (type === 'f64') return (name === 'i32.trunc_f64_s' ? [0, -0.9, 1.5, -2147483648, 2147483647] : values).map((value) => operands.hidden(type, value));
    return values.map((value, k) => operands.hidden(type, value, values[(k + 3 * place + 1) % values.length]!));
  });
  const all = choices.reduce<Expression[][]>((done, choice) => done.flatMap((head) => choice.map((last) => [...head, last])), [[]]);
  const step = Math.ceil(all.length / most) | 1;
  return all.filter((_, k) => k % step === 0);
}

/** Stores whatever an operation gives. */
function keep(value: Expression, address: number): Statement {
  if (value.type === 'f64') return store('f64.store', i32(address), 0, value);
  if (value.type === 'v128') return store('v128.store', i32(address), 0, value);
  if (value.type === 'i64') return store('f64.store', i32(address), 0, operation('f64.reinterpret_i64', value));
  return store('i32.store', i32(address), 0, value);
}

describe('which variables are masks', () => {
  it('takes those that are only ever set to comparisons and what is made of them', () => {
    const [mask, copy, broken, follower] = ['mask', 'copy', 'broken', 'follower'].map((name) => local('v128', name)) as [ReturnType<typeof local>, ReturnType<typeof local>, ReturnType<typeof local>, ReturnType<typeof local>];
    const code = defineFunction('masks', []);
    const below = operation('f64x2.lt', f64x2(1), f64x2(2));
    code.body.push(
      set(mask, below), set(copy, operation('v128.and', get(mask), operation('v128.not', below))), set(follower, get(broken)),
      when(i32(1), [set(broken, below)], [set(broken, operation('v128.or', below, operation('f64x2.add', f64x2(1), f64x2(2))))]),
    );
    expect(masksOf(code)).toEqual(new Set([mask, copy]));
  });
});

describe.skipIf(!compilerIsInstalled())('a module translated to C++', () => {
  it.each([['plain', plainOptions], ['native', nativeOptions]] as const)('gives every instruction its result (%s)', { timeout: 120_000 }, (name, options) => {
    const work = defineFunction('work', []);
    const operands = new Operands();
    let address = 16;
    for (const operationName of Object.keys(operations) as OperationName[]) {
      for (const lane of operationName.endsWith('_lane') ? [0, 1] : [0]) {
        for (const taken of tuples(operationName, operands, 24)) {
          work.body.push(keep(laneOperation(operationName, lane, ...taken), address));
          address += 16;
        }
      }
    }
    expect(address).toBeGreaterThan(16 * 800);
    expect(address).toBeLessThan(bytes / 2);
    const found = memories(name, [], work, operands.start, options);
    expect(differences(found)).toEqual([]);
  });

  it('computes exp, log and tanh in one lane and two with the same bits', { timeout: 60_000 }, () => {
    const count = 200;
    const start = new Float64Array(2 + 2 * count);
    for (let k = 0; k < 2 * count; k += 1) start[2 + k] = k % 3 === 0 ? (k - count) * 1.7 : Math.sinh(0.04 * (k - count)) * 1e-3;
    const functions = ([['exp', expCode], ['log', logCode], ['tanh', tanhCode]] as const).flatMap(([name, inline]) => [scalarLane, vectorLanes].map((lanes) => functionOf(`${name}${lanes.count}`, lanes, inline)));
    const at = local('i32', 'at');
    const work = defineFunction('work', []);
    functions.forEach((code, number) => {
      const lanes = code.result === 'v128' ? vectorLanes : scalarLane;
      const to = 8192 * (1 + number);
      work.body.push(...countUp(at, i32(16), i32(16 + 16 * count), lanes.bytes, [lanes.store(get(at), to, call(code, lanes.load(get(at), 0)))]));
    });
    const found = memories('functions', functions, work, start, plainOptions);
    // Something was computed: exp of the first operand.
    expect(found.ours[1024 + 2]).toBeCloseTo(Math.exp(start[2]!), 12);
    expect(differences(found)).toEqual([]);
  });

  it('keeps loops, jumps, the order of calls and what masks select', { timeout: 60_000 }, () => {
    // next(): counts at address 16 and gives the count.
    const next = defineFunction('next', [], 'i32');
    next.body.push(store('i32.store', i32(16), 0, operation('i32.add', load('i32.load', i32(16)), i32(1))), giveBack(load('i32.load', i32(16))));
    const twice = defineFunction('twice', [local('i32', 'where')]);
    twice.body.push(store('f64.store', get(twice.parameters[0]!), 0, operation('f64.convert_i32_s', operation('i32.sub', operation('i32.mul', i32(10), call(next)), call(next)))));
    const [tens, ones] = [local('i32', 'tens'), local('i32', 'ones')];
    const joined = defineFunction('joined', [tens, ones], 'i32');
    joined.body.push(giveBack(operation('i32.add', operation('i32.mul', i32(10), get(tens)), get(ones))));
    const [row, column, sum] = [local('i32', 'row'), local('i32', 'column'), local('f64', 'sum')];
    const [rows, columns] = [label('rows'), label('columns')];
    const mask = local('v128', 'mask');
    const work = defineFunction('work', []);
    work.body.push(
      callOnly(twice, i32(32)),
      // The load stands before the call that changes what it loads.
      store('i32.store', i32(40), 0, operation('i32.sub', load('i32.load', i32(16)), call(next))),
      store('i32.store', i32(44), 0, call(joined, call(next), call(next))),
      set(row, i32(0)),
      repeat(rows, [
        set(column, i32(0)),
        repeat(columns, [
          set(column, operation('i32.add', get(column), i32(1))),
          when(operation('i32.gt_s', get(column), i32(6)), [set(row, operation('i32.add', get(row), i32(1))), when(operation('i32.lt_s', get(row), i32(5)), [again(rows)]), leave(rows)]),
          when(operation('i32.eq', get(column), i32(3)), [again(columns)]),
          set(sum, operation('f64.add', get(sum), operation('f64.convert_i32_s', operation('i32.mul', get(row), get(column))))),
          when(operation('i32.and', operation('i32.eq', get(column), i32(5)), operation('i32.eq', get(row), i32(2))), [leave(columns)]),
          again(columns),
        ]),
        set(row, operation('i32.add', get(row), i32(1))),
        again(rows),
      ]),
      store('f64.store', i32(48), 0, get(sum)),
      set(mask, operation('f64x2.gt', laneOperation('f64x2.replace_lane', 1, f64x2(1), f64(5)), f64x2(3))),
      store('v128.store', i32(64), 0, operation('v128.bitselect', f64x2(7), f64x2(-7), get(mask))),
      store('v128.store', i32(80), 0, operation('v128.bitselect', f64x2(7), f64x2(-7), operation('f64x2.add', f64x2(1.5), f64x2(1)))),
      store('i32.store', i32(96), 0, operation('v128.any_true', get(mask))),
      store('i32.store', i32(100), 0, operation('i64x2.all_true', get(mask))),
      store('i32.store', i32(104), 0, operation('i64x2.all_true', f64x2(3))),
      store('v128.store64_lane', i32(112), 8, get(mask), 1),
      store('f64.store', i32(128), 0, select(load('i32.load', i32(96)), f64(-0), f64(2))),
      copyMemory(i32(160), i32(32), i32(64)),
      copyMemory(i32(168), i32(160), i32(48)),
    );
    const found = memories('control', [next, twice, joined], work, new Float64Array(0), plainOptions);
    expect(found.ours[4]).toBe(8);
    expect(new Int32Array(found.ours.buffer)[11]).toBe(45);
    // Rows 0 and 1 whole without column 3, row 2 up to 5, row 3 and 4 whole: (0 + 1 + 3 + 4) · 18 + 2 · 12.
    expect(found.ours[6]).toBe(168);
    expect(found.ours.slice(8, 10)).toEqual(new Float64Array([-7, 7]));
    expect(differences(found)).toEqual([]);
  });
});
