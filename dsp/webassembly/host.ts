/**
 * Where emitted bytes become code. `dsp` never touches the engine's WebAssembly object: a shell (worker, audio thread, command line) installs three
 * functions, once a thread. Which back end runs never changes a bit of any result; so this one piece of state for the whole thread is allowed.
 */
import { Arena } from './arena.ts';

/** A compiled module, opaque here; it can be posted to another thread. */
export type CompiledModule = object;

export type Exports = Readonly<Record<string, (...operands: number[]) => number>>;

/** What a shell installs. */
export interface WebAssemblyShell {
  /** Null on a thread that must not compile: there only modules that were `adopt`ed run. */
  readonly compile: ((bytes: Uint8Array<ArrayBuffer>) => CompiledModule) | null;
  /** A memory of exactly so many 64 KiB pages. */
  createMemory(pages: number): { readonly buffer: ArrayBuffer };
  instantiate(module: CompiledModule, memory: { readonly buffer: ArrayBuffer }): Exports;
}

const pageBytes = 65_536;

/** Address 0 is left out, so that a pointer is never 0. */
const firstAddress = 16;
/** So many modules are kept for use again, and so many instances of them in one memory. */
const mostModules = 256;

/** A fixed memory and the code instantiated in it. */
export class CodeMemory {
  readonly arena: Arena;
  readonly #memory: { readonly buffer: ArrayBuffer };
  readonly #shell: WebAssemblyShell;
  readonly #instances = new Map<CompiledModule, Exports>();

  /** An arena with room for at least so many bytes. */
  constructor(shell: WebAssemblyShell, bytes: number) {
    const pages = Math.ceil((firstAddress + bytes) / pageBytes);
    this.#shell = shell;
    this.#memory = shell.createMemory(pages);
    this.arena = new Arena(this.#memory.buffer, firstAddress, pages * pageBytes);
  }

  /** The code of module `key` working in this memory; null where there is none on this thread. Not for the audio callback. */
  code(key: string, emit: () => Uint8Array<ArrayBuffer>): Exports | null {
    const module = moduleOf(key, emit);
    if (module === null) return null;
    const exports = this.#instances.get(module) ?? this.#shell.instantiate(module, this.#memory);
    renew(this.#instances, module, exports);
    return exports;
  }
}

let installed: WebAssemblyShell | null = null;
let scratch: CodeMemory | null = null;
let scratchBytes = 0;
const modules = new Map<string, CompiledModule>();

/** Null: everything runs in the readable loops. */
export function installWebAssembly(shell: WebAssemblyShell | null): void {
  installed = shell;
  scratch = null;
}

/** With room for `bytes` in its arena. Null where no shell is installed. Not for the audio callback. */
export function createCodeMemory(bytes: number): CodeMemory | null {
  return installed === null ? null : new CodeMemory(installed, bytes);
}

/**
 * One memory a thread for work off the audio thread: the same each time until more bytes are asked for or another shell is installed; its callers
 * agree on who uses its arena. Null where no shell is installed.
 */
export function scratchCodeMemory(bytes: number): CodeMemory | null {
  if (scratch === null || scratchBytes < bytes) {
    scratch = createCodeMemory(bytes);
    scratchBytes = bytes;
  }
  return scratch;
}

/** The compiled module of that key, from the cache or from `emit`'s bytes; null where it can be had from neither. */
export function moduleOf(key: string, emit: () => Uint8Array<ArrayBuffer>): CompiledModule | null {
  const known = modules.get(key);
  if (known !== undefined) {
    renew(modules, key, known);
    return known;
  }
  if (installed === null || installed.compile === null) return null;
  const module = installed.compile(emit());
  adoptModule(key, module);
  return module;
}

/** A module compiled on another thread. One of that key that is here already stays, with the instances made of it, and counts as new. */
export function adoptModule(key: string, module: CompiledModule): void {
  renew(modules, key, modules.get(key) ?? module);
}

/** Sets an entry as the newest; where there are then too many, the one longest unused goes. */
function renew<Key, Value>(cache: Map<Key, Value>, key: Key, value: Value): void {
  cache.delete(key);
  if (cache.size >= mostModules) cache.delete(cache.keys().next().value!);
  cache.set(key, value);
}
