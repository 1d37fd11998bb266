import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { buildProgram, parseCircuitDocument } from '../../dsp/circuit/index.ts';
import { kernelCode } from '../../dsp/circuit/emit/kernel-code.ts';
import { kernelStructure } from '../../dsp/circuit/emit/kernel-structure.ts';
import {
  again, copyMemory, defineFunction, encodeModule, f64, f64x2, functionBytes, functionText, get, giveBack, i32, i64, label, laneOperation, leave, load, local, moduleText, operation, repeat, scalarLane, select, set, store,
  vectorLanes, when,
} from '../../dsp/webassembly/index.ts';
import { readModule } from './module-reader.ts';
import { readModuleText } from './text-reader.ts';

/** One of everything, with names that are no identifiers and names that come twice. */
function oneOfEverything() {
  const at = local('i32', 'at');
  const [x, other] = [local('f64', 'x'), local('f64', 'x')];
  const pair = local('v128', 'a pair, of two');
  const rounds = label('round and round');
  const code = defineFunction('all of it', [at, x], 'f64');
  code.body.push(
    set(other, select(operation('i32.eqz', get(at)), f64(-0), f64(1e-7))),
    set(pair, laneOperation('f64x2.replace_lane', 1, operation('v128.and', f64x2(Infinity), load('v128.load64_splat', get(at), 24)), get(x))),
    repeat(rounds, [
      when(operation('f64.gt', get(other), f64(1e300)), [leave(rounds)], [set(other, operation('f64.add', get(other), f64(NaN)))]),
      when(i32(-1), [again(rounds)]),
      repeat(label('round and round'), []),
      copyMemory(i32(0), get(at), i32(16)),
    ]),
    store('v128.store64_lane', get(at), 8, get(pair), 1),
    store('f64.store', i32(64), 0, operation('f64.reinterpret_i64', i64(-5n))),
    giveBack(laneOperation('f64x2.extract_lane', 1, get(pair))),
  );
  return { functions: [code], exports: { all: code } };
}

describe('moduleText', () => {
  it('is the text format, folded', () => {
    const a = local('f64', 'a');
    const twice = defineFunction('twice', [a], 'f64');
    twice.body.push(giveBack(operation('f64.add', get(a), get(a))));
    expect(moduleText({ functions: [twice], exports: { twice } })).toBe(`(module
  (import "bench" "memory" (memory 1))
  (func $twice (export "twice") (param $a f64) (result f64)
    (return (f64.add (local.get $a) (local.get $a)))
    (unreachable)))`);
  });

  it.each([20, 80, 140, 100_000])('reads back to the same bytes, at %i characters a line', (width) => {
    const module = oneOfEverything();
    expect(encodeModule(readModuleText(moduleText(module, { width })))).toEqual(encodeModule(module));
  });

  it('keeps to the width where words allow it', () => {
    const wide = moduleText(oneOfEverything(), { width: 80 }).split('\n').filter((line) => line.length > 80 && !line.includes('(func'));
    expect(wide).toEqual([]);
  });

  it('gives one function alone as it stands in the module', () => {
    const helper = defineFunction('all of it', []);
    const module = { functions: [...oneOfEverything().functions, helper], exports: { helper } };
    expect(functionText(module, helper)).toBe('(func $all_of_it.2 (export "helper"))');
    const whole = functionText(module, module.functions[0]!);
    expect(moduleText(module, { width: 142 }).replaceAll(/^ {2}/gm, '')).toContain(whole);
  });

  it('says what lies at an address', () => {
    const text = moduleText(oneOfEverything(), { nameOf: (offset) => (offset === 24 ? 'state 3' : null) });
    expect(text).toContain('v128.load64_splat offset=24 (;state 3;)');
    expect(text.match(/\(;/g)).toHaveLength(1);
    expect(encodeModule(readModuleText(text))).toEqual(encodeModule(oneOfEverything()));
  });

  it.each([['two lanes', vectorLanes], ['one lane', scalarLane]])('of a whole kernel in %s reads back to the same bytes', (_, lanes) => {
    const program = buildProgram(parseCircuitDocument(JSON.parse(readFileSync(new URL('../circuit/documents/one-transistor.json', import.meta.url), 'utf8'))), { rateHz: 384_000 });
    const written = kernelCode(kernelStructure(program), lanes);
    // Beside its function each export has no order of its own.
    const module = { ...written, exports: Object.fromEntries(Object.entries(written.exports).sort(([, a], [, b]) => written.functions.indexOf(a) - written.functions.indexOf(b))) };
    expect(encodeModule(readModuleText(moduleText(module)))).toEqual(encodeModule(module));
  });
});

describe('functionBytes', () => {
  it('are those of the bodies in the module', () => {
    const module = oneOfEverything();
    const [body] = readModule(encodeModule(module)).bodies;
    // The locals' declarations come before the instructions: one byte of count and two for each type.
    expect(functionBytes(module)).toEqual([body!.instructionBytes + 1 + 2 * body!.locals.length]);
  });
});
