/** A reader of module bytes, written from the binary format's chapter alone and apart from the encoder (core specification 2.0, W3C 2022, chapter 5). */

export class ByteReader {
  readonly #bytes: Uint8Array;
  at = 0;

  constructor(bytes: Uint8Array) {
    this.#bytes = bytes;
  }

  get ended(): boolean {
    return this.at === this.#bytes.length;
  }

  byte(): number {
    if (this.at >= this.#bytes.length) throw new Error(`expected a byte at ${this.at}, got the end`);
    return this.#bytes[this.at++]!;
  }

  /** uN of §5.2.2. */
  unsigned(): bigint {
    const low = this.byte();
    return low < 0x80 ? BigInt(low) : BigInt(low - 0x80) + 128n * this.unsigned();
  }

  /** sN of §5.2.2. */
  signed(): bigint {
    const low = this.byte();
    if (low < 0x40) return BigInt(low);
    if (low < 0x80) return BigInt(low) - 128n;
    return BigInt(low - 0x80) + 128n * this.signed();
  }

  count(): number {
    return Number(this.unsigned());
  }

  list<Entry>(entry: () => Entry): Entry[] {
    return Array.from({ length: this.count() }, entry);
  }

  name(): string {
    return String.fromCharCode(...this.list(() => this.byte()));
  }

  part(length: number): ByteReader {
    if (this.at + length > this.#bytes.length) throw new Error(`expected ${length} bytes at ${this.at}, got ${this.#bytes.length - this.at}`);
    const inner = new ByteReader(this.#bytes.subarray(this.at, this.at + length));
    this.at += length;
    return inner;
  }
}

export interface ModuleContents {
  readonly magic: readonly number[];
  readonly version: readonly number[];
  readonly sections: readonly number[];
  readonly types: readonly { readonly parameters: readonly number[]; readonly results: readonly number[] }[];
  readonly imports: readonly { readonly module: string; readonly field: string; readonly kind: number; readonly limits: readonly number[] }[];
  readonly functions: readonly number[];
  readonly exports: readonly { readonly name: string; readonly kind: number; readonly number: number }[];
  readonly bodies: readonly { readonly locals: readonly { readonly count: number; readonly type: number }[]; readonly instructionBytes: number; readonly lastByte: number }[];
}

/** Throws where a section is shorter or longer than it says. */
export function readModule(bytes: Uint8Array): ModuleContents {
  const reader = new ByteReader(bytes);
  const four = (): number[] => Array.from({ length: 4 }, () => reader.byte());
  const magic = four();
  const version = four();
  const sections: number[] = [];
  const contents = new Map<number, ByteReader>();
  while (!reader.ended) {
    const section = reader.byte();
    sections.push(section);
    contents.set(section, reader.part(reader.count()));
  }
  const read = <Entry>(section: number, entry: (reader: ByteReader) => Entry): Entry[] => {
    const inner = contents.get(section);
    if (inner === undefined) return [];
    const entries = inner.list(() => entry(inner));
    if (!inner.ended) throw new Error(`section ${section}: expected its end at ${inner.at}`);
    return entries;
  };
  return {
    magic,
    version,
    sections,
    types: read(1, (inner) => {
      if (inner.byte() !== 0x60) throw new Error('expected a function type');
      return { parameters: inner.list(() => inner.byte()), results: inner.list(() => inner.byte()) };
    }),
    imports: read(2, (inner) => {
      const module = inner.name();
      const field = inner.name();
      const kind = inner.byte();
      const bounded = inner.byte() === 1;
      return { module, field, kind, limits: bounded ? [inner.count(), inner.count()] : [inner.count()] };
    }),
    functions: read(3, (inner) => inner.count()),
    exports: read(7, (inner) => ({ name: inner.name(), kind: inner.byte(), number: inner.count() })),
    bodies: read(10, (inner) => {
      const body = inner.part(inner.count());
      const locals = body.list(() => ({ count: body.count(), type: body.byte() }));
      let instructionBytes = 0;
      let lastByte = -1;
      for (; !body.ended; instructionBytes += 1) lastByte = body.byte();
      return { locals, instructionBytes, lastByte };
    }),
  };
}
