/** What workers and audio thread install for `dsp`: the engine's WebAssembly, or nothing. */
import type { CodeModule } from '../dsp/path/index.ts';
import { adoptModule, installWebAssembly, moduleOf, vectorProbe, type CompiledModule, type Exports } from '../dsp/webassembly/index.ts';

/** A module compiled on another thread, under the key `dsp` asks for it by. */
export interface KeyedModule {
  readonly key: string;
  readonly module: CompiledModule;
}

/** As it is sent to the audio thread: compiled, or, where browsers do not let a compiled module through, its bytes. */
export type SentModule = KeyedModule | { readonly key: string; readonly bytes: Uint8Array<ArrayBuffer> };

/** Once a thread. The audio thread must not compile in its turn: it runs what it is given. Returns null, or why the readable loops run instead: the same bits, more slowly. */
export function installCompiledCode(mayCompile: boolean): string | null {
  const lack = lackOfThisEngine();
  installWebAssembly(lack !== null ? null : {
    compile: mayCompile ? (bytes) => new WebAssembly.Module(bytes) : null,
    createMemory: (pages) => new WebAssembly.Memory({ initial: pages, maximum: pages }) as { readonly buffer: ArrayBuffer },
    instantiate: (module, memory) => new WebAssembly.Instance(module as WebAssembly.Module, { bench: { memory: memory as WebAssembly.Memory } }).exports as Exports,
  });
  return lack;
}

/** Modules that came with a plan. Not for the audio callback. */
export function adoptModules(modules: readonly KeyedModule[]): void {
  for (const { key, module } of modules) adoptModule(key, module);
}

/** What came as bytes compiled, on threads of the engine's own. Rejects with what the engine throws. */
export function compiledModules(modules: readonly SentModule[]): Promise<KeyedModule[]> {
  return Promise.all(modules.map(async (sent) => ('module' in sent ? sent : { key: sent.key, module: await WebAssembly.compile(sent.bytes) })));
}

/** Whether all these modules are here, or can be compiled here. Not for the audio callback. */
export function hasModules(modules: readonly CodeModule[]): boolean {
  return modules.every(({ key, emit }) => moduleOf(key, emit) !== null);
}

function lackOfThisEngine(): string | null {
  if (typeof WebAssembly === 'undefined') return 'no WebAssembly';
  return WebAssembly.validate(vectorProbe()) ? null : 'no vector instructions in its WebAssembly';
}
