import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { defineFunction, encodeModule, f64, giveBack, installWebAssembly, moduleOf } from '../../dsp/webassembly/index.ts';
import { PlanArrivals } from '../../worklets/audio/plan-arrivals.ts';
import { installCompiledCode, type SentModule } from '../../worklets/compiled-code.ts';
import type { PlanMessage } from '../../worklets/messages.ts';
import { pathOf, planOf } from '../path/support.ts';

const plan = planOf(pathOf([], { oversamplingFactor: 1 }));
const message = (revision: number, modules: readonly SentModule[] = []): PlanMessage => ({ kind: 'plan', plan, revision, modules });

function bytesOf(value: number): Uint8Array<ArrayBuffer> {
  const constant = defineFunction('constant', [], 'f64');
  constant.body.push(giveBack(f64(value)));
  return encodeModule({ functions: [constant], exports: { constant } });
}
/** Whether the audio thread, which compiles nothing in its turn, has it. */
const here = (key: string): boolean => moduleOf(key, () => bytesOf(0)) !== null;

function arrivals() {
  const taken: number[] = [];
  const said: unknown[] = [];
  const port = { onmessage: null, onmessageerror: null, postMessage: (answer: unknown) => said.push(answer) } as unknown as MessagePort;
  new PlanArrivals(({ revision }) => taken.push(revision)).listen(port);
  return { taken, said, send: (data: PlanMessage) => port.onmessage!({ data } as MessageEvent), fail: () => port.onmessageerror!({} as MessageEvent) };
}

beforeEach(() => { expect(installCompiledCode(false)).toBeNull(); });
afterEach(() => installWebAssembly(null));

describe('plans arriving at the audio thread', () => {
  it('are taken at once with modules that are compiled', () => {
    const { taken, send } = arrivals();
    send(message(1, [{ key: 'arrival compiled', module: new WebAssembly.Module(bytesOf(1)) }]));
    expect([taken, here('arrival compiled')]).toEqual([[1], true]);
  });

  it('wait for bytes to be compiled; the newest alone is taken, with what earlier ones brought', async () => {
    const { taken, send } = arrivals();
    send(message(1, [{ key: 'arrival first', bytes: bytesOf(1) }]));
    send(message(2, [{ key: 'arrival second', bytes: bytesOf(2) }]));
    send(message(3));
    expect([taken, here('arrival first')]).toEqual([[], false]);
    await vi.waitFor(() => expect(taken).toEqual([3]));
    expect([here('arrival first'), here('arrival second')]).toEqual([true, true]);
    send(message(4));
    expect(taken).toEqual([3, 4]);
  });

  it('are taken without what does not compile', async () => {
    const { taken, send } = arrivals();
    send(message(1, [{ key: 'arrival broken', bytes: Uint8Array.of(1, 2, 3) }]));
    await vi.waitFor(() => expect(taken).toEqual([1]));
    expect(here('arrival broken')).toBe(false);
  });

  it('are asked for anew where a message could not be read', () => {
    const { taken, said, fail } = arrivals();
    fail();
    expect([taken, said]).toEqual([[], [{ kind: 'unreadable' }]]);
  });
});
