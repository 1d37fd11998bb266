import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { CodeModule, TrialPlan } from '../../dsp/path/index.ts';
import { createCodeMemory, defineFunction, encodeModule, f64, giveBack, installWebAssembly, moduleOf } from '../../dsp/webassembly/index.ts';
import { adoptModules, installCompiledCode, type SentModule } from '../../worklets/compiled-code.ts';
import { ModuleCourier } from '../../worklets/workers/module-courier.ts';
import { pathOf, planOf } from '../path/support.ts';

const plan = planOf(pathOf([], { oversamplingFactor: 1 }));

function needOf(key: string, value: number): CodeModule {
  return {
    key,
    emit: () => {
      const constant = defineFunction('constant', [], 'f64');
      constant.body.push(giveBack(f64(value)));
      return encodeModule({ functions: [constant], exports: { constant } });
    },
  };
}

const [one, two, three] = [needOf('courier one', 1), needOf('courier two', 2), needOf('courier three', 3)];
/** A plan that needs these, whatever is in it. */
const needing = (...needs: readonly CodeModule[]) => ({ ...plan, needs });
const courierOfNeeds = () => new ModuleCourier((asked: TrialPlan) => (asked as ReturnType<typeof needing>).needs);
/** What was compiled; null where bytes were sent instead. */
const compiledOf = (sent: SentModule | undefined) => (sent && 'module' in sent ? sent.module : null);
const keysOf = (modules: readonly { readonly key: string }[]) => modules.map(({ key }) => key);

beforeEach(() => { expect(installCompiledCode(true)).toBeNull(); });
afterEach(() => installWebAssembly(null));

describe('the courier of modules', () => {
  it('compiles what a plan needs and sends each module once to a node', () => {
    const courier = courierOfNeeds();
    const first = courier.take(needing(one));
    expect(keysOf(first)).toEqual(['courier one']);
    expect(compiledOf(first[0])).toBeInstanceOf(WebAssembly.Module);
    expect(keysOf(courier.take(needing(one, two)))).toEqual(['courier two']);
    expect(courier.take(needing(one, two))).toEqual([]);
    expect(keysOf(courier.all(needing(one, two)))).toEqual(['courier one', 'courier two']);
    courier.forget();
    const again = courier.take(needing(one, two));
    expect(keysOf(again)).toEqual(['courier one', 'courier two']);
    expect(compiledOf(again[0])).toBe(compiledOf(first[0]));
  });

  it('sends all anew as bytes to a node that compiled modules do not reach', () => {
    const courier = courierOfNeeds();
    courier.take(needing(one));
    courier.sendBytes();
    const sent = courier.take(needing(one, two));
    expect(keysOf(sent)).toEqual(['courier one', 'courier two']);
    expect(sent.map((module) => 'bytes' in module && WebAssembly.validate(module.bytes))).toEqual([true, true]);
    expect(courier.take(needing(one, two))).toEqual([]);
  });

  it('has nothing to send where nothing can be compiled', () => {
    installWebAssembly(null);
    expect(courierOfNeeds().take(needing(three))).toEqual([]);
    // The audio thread's way.
    installCompiledCode(false);
    expect(courierOfNeeds().take(needing(three))).toEqual([]);
  });

  it('sends again what the other end may have dropped', () => {
    const courier = courierOfNeeds();
    courier.take(needing(one, two));
    for (let k = 0; k < 130; k += 1) courier.take(needing(needOf(`courier many ${k}`, k)));
    expect(keysOf(courier.take(needing(one, two)))).toEqual(['courier one', 'courier two']);
  });
});

describe('an engine without the vector instructions', () => {
  it('is told from one with them, and gets no compiled code', () => {
    const validate = vi.spyOn(WebAssembly, 'validate').mockReturnValue(false);
    expect(installCompiledCode(true)).toBe('no vector instructions in its WebAssembly');
    expect(createCodeMemory(1)).toBeNull();
    const [probe] = validate.mock.calls[0]!;
    validate.mockRestore();
    expect(WebAssembly.validate(probe)).toBe(true);
  });
});

describe('modules that came with a plan', () => {
  it('can be had by their keys on a thread that does not compile; one that is there already stays', () => {
    const emit = () => { throw new Error('emitted'); };
    installCompiledCode(false);
    expect(moduleOf('courier adopted', emit)).toBeNull();
    const [first, other] = [7, 8].map((value) => new WebAssembly.Module(needOf('', value).emit()));
    adoptModules([{ key: 'courier adopted', module: first! }]);
    expect(moduleOf('courier adopted', emit)).toBe(first);
    adoptModules([{ key: 'courier adopted', module: other! }]);
    expect(moduleOf('courier adopted', emit)).toBe(first);
  });
});
