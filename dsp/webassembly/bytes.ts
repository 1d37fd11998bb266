/** Bytes in the order in which they are written; the numbers of the binary format (WebAssembly core specification 2.0, W3C 2022, §5.2). */

export class ByteSink {
  #bytes = new Uint8Array(256);
  #length = 0;

  get length(): number {
    return this.#length;
  }

  /** What has been written. */
  bytes(): Uint8Array<ArrayBuffer> {
    return this.#bytes.slice(0, this.#length);
  }

  byte(value: number): void {
    if (this.#length === this.#bytes.length) this.#grow(1);
    this.#bytes[this.#length] = value;
    this.#length += 1;
  }

  append(other: ByteSink): void {
    this.#grow(other.#length);
    this.#bytes.set(other.#bytes.subarray(0, other.#length), this.#length);
    this.#length += other.#length;
  }

  /** LEB128: 0 … 2^32 − 1, a RangeError for anything else. */
  unsigned(value: number): void {
    const fits = Number.isInteger(value) && value >= 0 && value <= 0xffffffff;
    if (!fits) throw new RangeError(`LEB128: expected an integer of 0 … 2^32 − 1, got ${value}`);
    let rest = value;
    while (rest >= 128) {
      this.byte((rest % 128) + 128);
      rest = Math.floor(rest / 128);
    }
    this.byte(rest);
  }

  /** LEB128: an integer of −2^31 … 2^31 − 1, as `i32` makes them. */
  signed32(value: number): void {
    let rest = value;
    for (;;) {
      const low = rest & 0x7f;
      rest >>= 7;
      if ((rest === 0 && low < 64) || (rest === -1 && low >= 64)) {
        this.byte(low);
        return;
      }
      this.byte(low + 128);
    }
  }

  /** LEB128: −2^63 … 2^63 − 1, a RangeError for anything else. */
  signed64(value: bigint): void {
    if (BigInt.asIntN(64, value) !== value) throw new RangeError(`LEB128: expected an integer of −2^63 … 2^63 − 1, got ${value}`);
    let rest = value;
    for (;;) {
      const low = Number(rest & 0x7fn);
      rest >>= 7n;
      if ((rest === 0n && low < 64) || (rest === -1n && low >= 64)) {
        this.byte(low);
        return;
      }
      this.byte(low + 128);
    }
  }

  /** Eight bytes, the lowest first. */
  float64(value: number): void {
    float.setFloat64(0, value, true);
    for (let k = 0; k < 8; k += 1) this.byte(float.getUint8(k));
  }

  /** Its length, then its letters. A RangeError where they are not printable ASCII. */
  name(name: string): void {
    if (!/^[\x20-\x7e]+$/.test(name)) throw new RangeError(`name: expected printable ASCII characters, got "${name}"`);
    this.unsigned(name.length);
    for (let k = 0; k < name.length; k += 1) this.byte(name.charCodeAt(k));
  }

  #grow(room: number): void {
    if (this.#length + room <= this.#bytes.length) return;
    const larger = new Uint8Array(Math.max(2 * this.#bytes.length, this.#length + room));
    larger.set(this.#bytes.subarray(0, this.#length));
    this.#bytes = larger;
  }
}

const float = new DataView(new ArrayBuffer(8));
