/** How compiled code reaches the audio thread: as modules, in the options of its node and over the port from the worker. */
import { afterEach, describe, expect, it } from 'vitest';
import { countUp, defineFunction, encodeModule, f64, get, giveBack, i32, local, memoryImport, operation, set } from '../../../dsp/webassembly/index.ts';

/** sum(n) = 1 + 2 + … + n, in a loop. */
function sumModule(): WebAssembly.Module {
  const limit = local('i32', 'limit');
  const counter = local('i32', 'counter');
  const total = local('f64', 'total');
  const sum = defineFunction('sum', [limit], 'f64');
  sum.body.push(
    set(total, f64(0)),
    ...countUp(counter, i32(1), operation('i32.add', get(limit), i32(1)), 1, [set(total, operation('f64.add', get(total), operation('f64.convert_i32_s', get(counter))))]),
    giveBack(get(total)),
  );
  return new WebAssembly.Module(encodeModule({ functions: [sum], exports: { sum } }));
}

/** Instantiates what it is given, in the constructor or when it comes over a port, and tells the sum of 1 … 100. */
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
      const { port } = data;
      port.onmessage = ({ data }) => run(data.module, 'port');
      port.onmessageerror = () => this.port.postMessage({ way: 'port', sum: NaN });
    };
    if (processorOptions.module) run(processorOptions.module, 'options');
  }
  process() { return true; }
}
registerProcessor('probe', Probe);`;

/** Compiles nothing itself: sends on over the port what it was sent. */
const relaySource = 'onmessage = ({ data }) => data.port.postMessage({ module: data.module });';

const closing: (() => unknown)[] = [];
afterEach(async () => {
  for (const close of closing.splice(0)) await close();
});

describe('a compiled module', () => {
  it('goes through the options of a node, and over a port from a worker straight to the audio thread', async () => {
    const context = new AudioContext({ sampleRate: 48_000 });
    closing.push(() => context.close());
    await context.audioWorklet.addModule(URL.createObjectURL(new Blob([probeSource], { type: 'text/javascript' })));
    const module = sumModule();
    const node = new AudioWorkletNode(context, 'probe', { numberOfInputs: 0, processorOptions: { module } });
    const answers: unknown[] = [];
    node.port.onmessage = ({ data }) => answers.push(data);
    const worker = new Worker(URL.createObjectURL(new Blob([relaySource], { type: 'text/javascript' })));
    closing.push(() => worker.terminate());
    const { port1, port2 } = new MessageChannel();
    node.port.postMessage({ port: port1 }, [port1]);
    worker.postMessage({ module, port: port2 }, [port2]);
    await expect.poll(() => answers.length, { timeout: 10_000 }).toBe(2);
    // 100 · 101 / 2.
    expect(answers).toEqual([{ way: 'options', sum: 5050 }, { way: 'port', sum: 5050 }]);
  });
});
