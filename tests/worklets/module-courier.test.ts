import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { defineFunction, encodeModule, f64, giveBack, installWebAssembly, moduleOf } from '../../dsp/webassembly/index.ts';
import { adoptModules, installCompiledCode } from '../../worklets/compiled-code.ts';
import { ModuleCourier } from '../../worklets/workers/module-courier.ts';
import type { ModuleNeed } from '../../worklets/workers/module-courier.ts';
import { pathOf, planOf } from '../path/support.ts';

const plan = planOf(pathOf([], { oversamplingFactor: 1 }));

function needOf(key: string, value: number): ModuleNeed {
  return {
    key,
    emit: () => {
      const constant = defineFunction('constant', [], 'f64');
      constant.body.push(giveBack(f64(value)));
      return encodeModule({ functions: [constant], exports: { constant } });
    },
  };
}

const needs = [needOf('courier one', 1), needOf('courier two', 2)];
const keysOf = (modules: readonly { readonly key: string }[]) => modules.map(({ key }) => key);

beforeEach(() => { expect(installCompiledCode(true)).toBeNull(); });
afterEach(() => installWebAssembly(null));

describe('the courier of modules', () => {
  it('compiles what a plan needs and sends each module once to a node', () => {
    const courier = new ModuleCourier();
    const first = courier.take(plan, needs.slice(0, 1));
    expect(keysOf(first)).toEqual(['courier one']);
    expect(first[0]!.module).toBeInstanceOf(WebAssembly.Module);
    expect(keysOf(courier.take(plan, needs))).toEqual(['courier two']);
    expect(courier.take(plan, needs)).toEqual([]);
    expect(keysOf(courier.all(plan, needs))).toEqual(['courier one', 'courier two']);
    courier.forget();
    const again = courier.take(plan, needs);
    expect(keysOf(again)).toEqual(['courier one', 'courier two']);
    expect(again[0]!.module).toBe(first[0]!.module);
  });

  it('has nothing to send where nothing can be compiled', () => {
    installWebAssembly(null);
    expect(new ModuleCourier().take(plan, [needOf('courier three', 3)])).toEqual([]);
    // The audio thread's way.
    installCompiledCode(false);
    expect(new ModuleCourier().take(plan, [needOf('courier three', 3)])).toEqual([]);
  });

  it('sends again what the other end may have dropped', () => {
    const courier = new ModuleCourier();
    courier.take(plan, needs);
    for (let k = 0; k < 130; k += 1) courier.take(plan, [needOf(`courier many ${k}`, k)]);
    expect(keysOf(courier.take(plan, needs))).toEqual(['courier one', 'courier two']);
  });
});

describe('modules that came with a plan', () => {
  it('can be had by their keys on a thread that does not compile; one that is there already stays', () => {
    const emit = () => { throw new Error('emitted'); };
    installCompiledCode(false);
    expect(moduleOf('courier adopted', emit)).toBeNull();
    const [one, other] = [7, 8].map((value) => new WebAssembly.Module(needOf('', value).emit()));
    adoptModules([{ key: 'courier adopted', module: one! }]);
    expect(moduleOf('courier adopted', emit)).toBe(one);
    adoptModules([{ key: 'courier adopted', module: other! }]);
    expect(moduleOf('courier adopted', emit)).toBe(one);
  });
});
