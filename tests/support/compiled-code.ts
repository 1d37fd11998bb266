// The engine's WebAssembly for a while: what a shell installs for `dsp`.
import { createCodeMemory, installWebAssembly, type CodeMemory, type Exports, type WebAssemblyShell } from '../../dsp/webassembly/index.ts';

export const engineShell: WebAssemblyShell = {
  compile: (bytes) => new WebAssembly.Module(bytes),
  createMemory: (pages) => new WebAssembly.Memory({ initial: pages, maximum: pages }) as { readonly buffer: ArrayBuffer },
  instantiate: (module, memory) => new WebAssembly.Instance(module as WebAssembly.Module, { bench: { memory: memory as WebAssembly.Memory } }).exports as Exports,
};

/** What `make` gives with compiled code to be had; without it again afterwards. */
export function compiled<T>(make: () => T, shell: WebAssemblyShell = engineShell): T {
  installWebAssembly(shell);
  try {
    return make();
  } finally {
    installWebAssembly(null);
  }
}

/** What has been made by a shell that counts. */
export interface ShellRecord {
  readonly shell: WebAssemblyShell;
  readonly memories: { readonly buffer: ArrayBuffer }[];
  instances: number;
}

export function recordingShell(): ShellRecord {
  const memories: { readonly buffer: ArrayBuffer }[] = [];
  const record: ShellRecord = {
    memories, instances: 0,
    shell: {
      ...engineShell,
      createMemory: (pages) => {
        const memory = engineShell.createMemory(pages);
        memories.push(memory);
        return memory;
      },
      instantiate: (module, memory) => {
        record.instances += 1;
        return engineShell.instantiate(module, memory);
      },
    },
  };
  return record;
}

/** Compiled code stays in a memory made here. */
export function codeMemory(bytes: number): CodeMemory {
  const memory = compiled(() => createCodeMemory(bytes));
  if (memory === null) throw new Error('expected a memory with compiled code, got none');
  return memory;
}

/** First index where two arrays differ in any bit, NaN equal to NaN; −1 if none. */
export function firstDifference(a: Float64Array, b: Float64Array): number {
  if (a.length !== b.length) return Math.min(a.length, b.length);
  for (let i = 0; i < a.length; i += 1) if (!Object.is(a[i], b[i])) return i;
  return -1;
}
