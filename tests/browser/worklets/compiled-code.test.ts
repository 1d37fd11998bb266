/**
 * How compiled code reaches the audio thread: as a module in the options of its node; as bytes over the port from the worker, compiled there; as a module over the port only where the browser lets it through.
 * Chromium 150 does not (a `messageerror`); the bench asks for bytes then (`plan-arrivals.ts`).
 */
import { afterEach, describe, expect, it } from 'vitest';
import { countUp, defineFunction, encodeModule, f64, get, giveBack, i32, local, memoryImport, operation, set } from '../../../dsp/webassembly/index.ts';

/** sum(n) = 1 + 2 + … + n, in a loop. */
function sumBytes(): Uint8Array<ArrayBuffer> {
  const limit = local('i32', 'limit');
  const counter = local('i32', 'counter');
  const total = local('f64', 'total');
  const sum = defineFunction('sum', [limit], 'f64');
  sum.body.push(
    set(total, f64(0)),
    ...countUp(counter, i32(1), operation('i32.add', get(limit), i32(1)), 1, [set(total, operation('f64.add', get(total), operation('f64.convert_i32_s', get(counter))))]),
    giveBack(get(total)),
  );
  return encodeModule({ functions: [sum], exports: { sum } });
}

/** Instantiates what it is given, in the constructor or when it comes over a port, as bytes or compiled, and tells the sum of 1 … 100. */
const probeSource = `
class Probe extends AudioWorkletProcessor {
  constructor({ processorOptions }) {
    super();
    const run = (module, way) => {
      const memory = new WebAssembly.Memory({ initial: 1, maximum: 1 });
      const { sum } = new WebAssembly.Instance(module, { ${memoryImport.module}: { ${memoryImport.field}: memory } }).exports;
      this.port.postMessage({ way, sum: sum(100) });
    };
    this.port.onmessage = ({ data }) => {
      const { port, way } = data;
      port.onmessage = async ({ data: { sent } }) => run(sent instanceof WebAssembly.Module ? sent : await WebAssembly.compile(sent), way);
      port.onmessageerror = () => this.port.postMessage({ way, sum: 'unreadable' });
    };
    if (processorOptions.module) run(processorOptions.module, 'options');
  }
  process() { return true; }
}
registerProcessor('probe', Probe);`;

const closing: (() => unknown)[] = [];
afterEach(async () => {
  for (const close of closing.splice(0)) await close();
});

describe('a compiled module', () => {
  it('goes through the options of a node; its bytes over a port from a worker straight to the audio thread', async () => {
    const context = new AudioContext({ sampleRate: 48_000 });
    closing.push(() => context.close());
    await context.audioWorklet.addModule(URL.createObjectURL(new Blob([probeSource], { type: 'text/javascript' })));
    const bytes = sumBytes();
    const module = new WebAssembly.Module(bytes);
    const node = new AudioWorkletNode(context, 'probe', { numberOfInputs: 0, processorOptions: { module } });
    const answers: Record<string, unknown> = {};
    node.port.onmessage = ({ data }: MessageEvent<{ way: string; sum: unknown }>) => { answers[data.way] = data.sum; };
    for (const [way, sent] of [['bytes', bytes], ['module', module]] as const) {
      const worker = new Worker(new URL('./relay-worker.ts', import.meta.url), { type: 'module' });
      closing.push(() => worker.terminate());
      const { port1, port2 } = new MessageChannel();
      node.port.postMessage({ port: port1, way }, [port1]);
      worker.postMessage({ sent, port: port2 }, [port2]);
    }
    await expect.poll(() => Object.keys(answers).length, { timeout: 10_000 }).toBe(3);
    // 100 · 101 / 2.
    expect(answers).toMatchObject({ options: 5050, bytes: 5050 });
    expect([5050, 'unreadable']).toContain(answers['module']);
  });
});
