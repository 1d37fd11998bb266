/** What the command line installs for `dsp`: the engine's WebAssembly, or nothing. */
import { installWebAssembly, vectorProbe, type Exports } from '../../dsp/webassembly/index.ts';

/** Once a thread. Returns null, or why the readable loops run instead: the same bits, more slowly. */
export function installCompiledCode(): string | null {
  const lack = lackOfThisEngine();
  installWebAssembly(lack !== null ? null : {
    compile: (bytes) => new WebAssembly.Module(bytes),
    createMemory: (pages) => new WebAssembly.Memory({ initial: pages, maximum: pages }) as { readonly buffer: ArrayBuffer },
    instantiate: (module, memory) => new WebAssembly.Instance(module as WebAssembly.Module, { bench: { memory: memory as WebAssembly.Memory } }).exports as Exports,
  });
  return lack;
}

function lackOfThisEngine(): string | null {
  if (typeof WebAssembly === 'undefined') return 'no WebAssembly';
  return WebAssembly.validate(vectorProbe()) ? null : 'no vector instructions in its WebAssembly';
}
