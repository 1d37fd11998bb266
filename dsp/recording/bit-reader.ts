import { powerOfTwo } from '../math/index.ts';

/** The bytes end inside something: more of the file is needed, or it is cut short. */
export class OutOfBytes extends Error {}

/** Reads bits from the most significant end on. Throws OutOfBytes past the end. */
export class BitReader {
  readonly #bytes: Uint8Array;
  #byte: number;
  /** Bits of the current byte already taken, 0–7. */
  #bit = 0;

  constructor(bytes: Uint8Array, startByte: number) {
    this.#bytes = bytes;
    this.#byte = startByte;
  }

  /** Of the next byte not wholly taken. */
  get byteIndex(): number {
    return this.#bit === 0 ? this.#byte : this.#byte + 1;
  }

  alignToByte(): void {
    this.#byte = this.byteIndex;
    this.#bit = 0;
  }

  /** An unsigned number of 0 to 48 bits. */
  unsigned(count: number): number {
    let value = 0;
    let left = count;
    while (left > 0) {
      if (this.#byte >= this.#bytes.length) throw new OutOfBytes();
      const available = 8 - this.#bit;
      const take = left < available ? left : available;
      const shifted = this.#bytes[this.#byte]! >> (available - take);
      value = value * (1 << take) + (shifted & ((1 << take) - 1));
      this.#bit += take;
      if (this.#bit === 8) {
        this.#bit = 0;
        this.#byte += 1;
      }
      left -= take;
    }
    return value;
  }

  /** In two's complement, 0 to 48 bits. */
  signed(count: number): number {
    if (count === 0) return 0;
    const value = this.unsigned(count);
    const half = powerOfTwo(count - 1);
    return value >= half ? value - 2 * half : value;
  }

  /** Zeros before the next one, which is taken too. */
  zeros(): number {
    let count = 0;
    for (;;) {
      if (this.#byte >= this.#bytes.length) throw new OutOfBytes();
      const rest = (this.#bytes[this.#byte]! << this.#bit) & 0xff;
      if (rest !== 0) {
        const leading = Math.clz32(rest) - 24;
        count += leading;
        this.#bit += leading + 1;
        if (this.#bit === 8) {
          this.#bit = 0;
          this.#byte += 1;
        }
        return count;
      }
      count += 8 - this.#bit;
      this.#bit = 0;
      this.#byte += 1;
    }
  }
}
