import { describe, expect, it } from 'vitest';
import { exp } from '../../dsp/math/index.ts';
import { encodeModule, expCode, functionOf, memoryImport, scalarLane } from '../../dsp/webassembly/index.ts';
import { cases, everyLanes, missesOf } from './math-code-misses.ts';

describe.each(Object.entries(cases))('%s', (_, one) => {
  it.each(everyLanes)('has the bits of the readable function in %s: at the edges and at 200,000 seeded points', (_, lanes) => {
    const { points, different, examples } = missesOf(one, lanes, 200_000);
    expect(points).toBeGreaterThan(200_000);
    expect(examples).toEqual([]);
    expect(different).toBe(0);
  });
});

describe('the comparison itself', () => {
  it('sees a single last bit', () => {
    const broken = { ...cases['tanh']!, expected: (x: number) => (x > 1.5 && x < 1.6 ? cases['tanh']!.expected(x) - 2 ** -53 : cases['tanh']!.expected(x)) };
    expect(missesOf(broken, scalarLane, 3_000).different).toBeGreaterThan(0);
  });
});

describe('functionOf', () => {
  it('makes a function that can be called from outside', () => {
    const code = functionOf('exp', scalarLane, expCode);
    const instance = new WebAssembly.Instance(new WebAssembly.Module(encodeModule({ functions: [code], exports: { exp: code } })), {
      [memoryImport.module]: { [memoryImport.field]: new WebAssembly.Memory({ initial: 1 }) },
    });
    const compiled = instance.exports['exp'] as (x: number) => number;
    for (const x of [-708, -1, 0, 0.3, 1, 709]) expect(compiled(x)).toBe(exp(x));
    expect(compiled(NaN)).toBeNaN();
  });
});
