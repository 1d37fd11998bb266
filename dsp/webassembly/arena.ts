/** A piece of memory handed out front to back: arrays that compiled code and TypeScript share. */
export class Arena {
  readonly buffer: ArrayBuffer;
  readonly #start: number;
  readonly #end: number;
  #next: number;

  /** Bytes `start` … `end` of `buffer`; both multiples of 16. */
  constructor(buffer: ArrayBuffer, start: number, end: number) {
    this.buffer = buffer;
    this.#start = start;
    this.#end = end;
    this.#next = start;
  }

  get freeBytes(): number {
    return this.#end - this.#next;
  }

  /** Zeroed float64s at a multiple of 16 bytes. Throws a RangeError where they do not fit. Not for the audio callback. */
  floats(length: number): Float64Array<ArrayBuffer> {
    const at = this.#take(8 * length);
    return new Float64Array(this.buffer, at, length).fill(0);
  }

  /** A piece of its own, which can be cleared and used again. */
  part(bytes: number): Arena {
    const at = this.#take(bytes);
    return new Arena(this.buffer, at, at + roundedUp(bytes));
  }

  /** Forgets what was handed out. */
  clear(): void {
    this.#next = this.#start;
  }

  /** Whether compiled code that works in this memory can reach the array. Audio thread: allocates nothing. */
  holds(array: Float64Array): boolean {
    return array.buffer === this.buffer;
  }

  #take(bytes: number): number {
    const at = this.#next;
    const rounded = roundedUp(bytes);
    if (rounded > this.freeBytes) {
      throw new RangeError(`arena: expected room for ${rounded} bytes, got ${this.freeBytes} of ${this.#end - this.#start}`);
    }
    this.#next = at + rounded;
    return at;
  }
}

/** To the next multiple of 16: the size of a pair of float64s. */
export function roundedUp(bytes: number): number {
  return (bytes + 15) & ~15;
}
