import { afterEach, describe, expect, it } from 'vitest';
import {
  adoptModule, createCodeMemory, defineFunction, encodeModule, get, giveBack, installWebAssembly, load, local, moduleOf, operation, scratchCodeMemory, vectorProbe,
} from '../../dsp/webassembly/index.ts';
import type { CompiledModule, Exports } from '../../dsp/webassembly/index.ts';

/** sum(at): of the two float64s there. */
function sumBytes(): Uint8Array<ArrayBuffer> {
  const at = local('i32', 'at');
  const sum = defineFunction('sum', [at], 'f64');
  sum.body.push(giveBack(operation('f64.add', load('f64.load', get(at)), load('f64.load', get(at), 8))));
  return encodeModule({ functions: [sum], exports: { sum } });
}

const counted = { compiled: 0, instantiated: 0, emitted: 0, pages: [] as number[] };

function install(compiles = true): void {
  counted.compiled = counted.instantiated = counted.emitted = 0;
  counted.pages = [];
  installWebAssembly({
    compile: compiles ? (bytes) => {
      counted.compiled += 1;
      return new WebAssembly.Module(bytes);
    } : null,
    createMemory: (pages) => {
      counted.pages.push(pages);
      return new WebAssembly.Memory({ initial: pages, maximum: pages }) as { readonly buffer: ArrayBuffer };
    },
    instantiate: (module, memory) => {
      counted.instantiated += 1;
      return new WebAssembly.Instance(module as WebAssembly.Module, { bench: { memory: memory as WebAssembly.Memory } }).exports as Exports;
    },
  });
}

const emit = (): Uint8Array<ArrayBuffer> => {
  counted.emitted += 1;
  return sumBytes();
};

let keys = 0;
/** The cache outlives a test. */
const freshKey = (): string => `host test ${(keys += 1)}`;

afterEach(() => installWebAssembly(null));

describe('without a shell', () => {
  it('there is no memory and no module, and nothing is emitted', () => {
    installWebAssembly(null);
    expect(createCodeMemory(1024)).toBeNull();
    expect(scratchCodeMemory(1024)).toBeNull();
    expect(moduleOf(freshKey(), () => expect.fail('emitted for nobody'))).toBeNull();
  });
});

describe('a code memory', () => {
  it.each([[1, 1], [65_520, 1], [65_521, 2], [65_536, 2], [200_000, 4]])('with room for %i bytes has %i pages, and no array at address 0', (bytes, pages) => {
    install();
    const memory = createCodeMemory(bytes)!;
    expect(counted.pages).toEqual([pages]);
    expect(memory.arena.buffer.byteLength).toBe(pages * 65_536);
    expect(memory.arena.freeBytes).toBe(pages * 65_536 - 16);
    expect(memory.arena.freeBytes).toBeGreaterThanOrEqual(bytes);
    expect(memory.arena.floats(1).byteOffset).toBe(16);
  });

  it('runs code on the arrays of its arena', () => {
    install();
    const memory = createCodeMemory(4096)!;
    const array = memory.arena.floats(2);
    array.set([1.5, 2.25]);
    expect(memory.code(freshKey(), emit)!['sum']!(array.byteOffset)).toBe(3.75);
  });

  it('emits and compiles a key once, and instantiates it once a memory', () => {
    install();
    const key = freshKey();
    const [first, second] = [createCodeMemory(4096)!, createCodeMemory(4096)!];
    const code = first.code(key, emit);
    expect(first.code(key, emit)).toBe(code);
    expect(second.code(key, emit)).not.toBe(code);
    expect(counted).toMatchObject({ emitted: 1, compiled: 1, instantiated: 2 });
    first.code(freshKey(), emit);
    expect(counted).toMatchObject({ emitted: 2, compiled: 2, instantiated: 3 });
  });

  it('keeps no more code than there are modules in the cache, and drops what is longest unused', () => {
    install();
    const memory = createCodeMemory(4096)!;
    const [oldest, used] = [freshKey(), freshKey()];
    const module = moduleOf(oldest, emit)!;
    const dropped = memory.code(oldest, emit);
    const kept = memory.code(used, emit);
    for (let k = 0; k < 255; k += 1) {
      memory.code(freshKey(), emit);
      expect(memory.code(used, emit)).toBe(kept);
    }
    expect(counted.instantiated).toBe(257);
    // The same module comes back: the memory has not held on to what was made of it.
    adoptModule(oldest, module);
    expect(memory.code(oldest, emit)).not.toBe(dropped);
    expect(counted.instantiated).toBe(258);
  });
});

describe('a thread that must not compile', () => {
  it('runs what it was given, and has nothing else', () => {
    install();
    const key = freshKey();
    const module = moduleOf(key, emit)!;
    const elsewhere = freshKey();
    install(false);
    const memory = createCodeMemory(4096)!;
    expect(memory.code(elsewhere, () => expect.fail('emitted where nothing can be compiled'))).toBeNull();
    adoptModule(elsewhere, module);
    const array = memory.arena.floats(2);
    array.set([20, 22]);
    expect(memory.code(elsewhere, emit)!['sum']!(array.byteOffset)).toBe(42);
    expect(counted.compiled).toBe(0);
  });

  it('keeps a module it has when the same comes again', () => {
    install();
    const key = freshKey();
    const module = moduleOf(key, emit)!;
    adoptModule(key, new WebAssembly.Module(sumBytes()));
    expect(moduleOf(key, emit)).toBe(module);
  });
});

describe('the cache', () => {
  it('forgets the module longest neither adopted nor used when there are too many', () => {
    install();
    const [oldest, renewed] = [freshKey(), freshKey()];
    moduleOf(oldest, emit);
    const kept = moduleOf(renewed, emit) as CompiledModule;
    const filler = new WebAssembly.Module(sumBytes());
    for (let k = 0; k < 200; k += 1) adoptModule(freshKey(), filler);
    adoptModule(renewed, kept);
    for (let k = 0; k < 250; k += 1) adoptModule(freshKey(), filler);
    expect(moduleOf(renewed, emit)).toBe(kept);
    expect(counted.emitted).toBe(2);
    moduleOf(oldest, emit);
    expect(counted.emitted).toBe(3);
    // In use all the time.
    for (let k = 0; k < 400; k += 1) {
      adoptModule(freshKey(), filler);
      moduleOf(renewed, emit);
    }
    expect(moduleOf(renewed, emit)).toBe(kept);
  });
});

describe('scratch memory', () => {
  it('is the same one until more is asked for, and has the room', () => {
    install();
    const first = scratchCodeMemory(60_000)!;
    expect(first.arena.freeBytes).toBeGreaterThanOrEqual(60_000);
    expect(scratchCodeMemory(60_000)).toBe(first);
    expect(scratchCodeMemory(10)).toBe(first);
    const larger = scratchCodeMemory(70_000)!;
    expect(larger).not.toBe(first);
    expect(larger.arena.freeBytes).toBeGreaterThanOrEqual(70_000);
    expect(scratchCodeMemory(60_000)).toBe(larger);
  });

  it('goes with its shell', () => {
    install();
    const first = scratchCodeMemory(100);
    install();
    expect(scratchCodeMemory(100)).not.toBe(first);
  });
});

describe('the probe', () => {
  it('is valid in this engine, which has vector instructions, and not with one of them misspelt', () => {
    const probe = vectorProbe();
    expect(WebAssembly.validate(probe)).toBe(true);
    // 0xfd 0xf0 0x01 is f64x2.add; 0xfd 0xb0 0x02 is no instruction.
    const at = probe.findIndex((byte, k) => byte === 0xfd && probe[k + 1] === 0xf0);
    expect(at).toBeGreaterThan(0);
    const broken = Uint8Array.from(probe);
    broken[at + 1] = 0xb0;
    broken[at + 2] = 0x02;
    expect(WebAssembly.validate(broken)).toBe(false);
  });
});
