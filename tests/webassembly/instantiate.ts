/** Compiles and instantiates functions in a memory of one page. */
import { encodeModule, memoryImport } from '../../dsp/webassembly/index.ts';
import type { FunctionCode } from '../../dsp/webassembly/index.ts';

export type Compiled = (...operands: (number | bigint)[]) => number | bigint | undefined;

export interface Running {
  readonly run: Readonly<Record<string, Compiled>>;
  readonly memory: DataView<ArrayBuffer>;
}

/** All functions, exported by their names. */
export function instantiate(...functions: readonly FunctionCode[]): Running {
  const memory = new WebAssembly.Memory({ initial: 1, maximum: 1 });
  const bytes = encodeModule({ functions, exports: Object.fromEntries(functions.map((code) => [code.name, code])) });
  const instance = new WebAssembly.Instance(new WebAssembly.Module(bytes), { [memoryImport.module]: { [memoryImport.field]: memory } });
  return { run: instance.exports as Record<string, Compiled>, memory: new DataView(memory.buffer as ArrayBuffer) };
}
