// SHA-256 in integer arithmetic. Source: NIST FIPS 180-4, Secure Hash Standard, 2015.

const BLOCK_BYTES = 64;
const primes = firstPrimes(64);
/** First 32 bits of the fractional parts of the cube roots of the first 64 primes (§4.2.2). */
const ROUND_CONSTANTS = Int32Array.from(primes, (prime) => rootFraction(prime, 3n));
/** First 32 bits of the fractional parts of the square roots of the first 8 primes (§5.3.3). */
const INITIAL_STATE = Int32Array.from(primes.slice(0, 8), (prime) => rootFraction(prime, 2n));

function firstPrimes(count: number): number[] {
  const found: number[] = [];
  for (let candidate = 2; found.length < count; candidate++) {
    if (found.every((prime) => candidate % prime !== 0)) found.push(candidate);
  }
  return found;
}

/** The whole part of 2^32 · root(value), its low 32 bits: by bisection over whole numbers. */
function rootFraction(value: number, degree: 2n | 3n): number {
  const scaled = BigInt(value) << (32n * degree);
  let low = 0n;
  let high = 1n << 40n;
  while (high - low > 1n) {
    const middle = (low + high) >> 1n;
    const raised = degree === 2n ? middle * middle : middle * middle * middle;
    if (raised <= scaled) low = middle;
    else high = middle;
  }
  return Number(BigInt.asIntN(32, low));
}

/** A running hash: `update` any number of times, then `digestHex` once. Updates allocate nothing. */
export class Sha256 {
  private readonly state = INITIAL_STATE.slice();
  private readonly schedule = new Int32Array(64);
  private readonly block = new Uint8Array(BLOCK_BYTES);
  private blockUsed = 0;
  private totalBytes = 0;
  private finished = false;

  /** Adds bytes. Throws after `digestHex`. */
  update(bytes: Uint8Array): this {
    if (this.finished) throw new Error('SHA-256: bytes after the digest was taken');
    this.totalBytes += bytes.length;
    let at = 0;
    if (this.blockUsed > 0) {
      while (at < bytes.length && this.blockUsed < BLOCK_BYTES) this.block[this.blockUsed++] = bytes[at++]!;
      if (this.blockUsed < BLOCK_BYTES) return this;
      this.compress(this.block, 0);
      this.blockUsed = 0;
    }
    for (; at + BLOCK_BYTES <= bytes.length; at += BLOCK_BYTES) this.compress(bytes, at);
    while (at < bytes.length) this.block[this.blockUsed++] = bytes[at++]!;
    return this;
  }

  /** The hash of all bytes so far: 64 lower-case hexadecimal digits. Ends the computation; throws when called twice. */
  digestHex(): string {
    if (this.finished) throw new Error('SHA-256: the digest was already taken');
    this.finished = true;
    const block = this.block;
    block[this.blockUsed++] = 0x80;
    if (this.blockUsed > BLOCK_BYTES - 8) {
      block.fill(0, this.blockUsed);
      this.compress(block, 0);
      this.blockUsed = 0;
    }
    block.fill(0, this.blockUsed);
    const view = new DataView(block.buffer);
    view.setUint32(BLOCK_BYTES - 8, Math.floor(this.totalBytes / 536870912));
    view.setUint32(BLOCK_BYTES - 4, (this.totalBytes % 536870912) * 8);
    this.compress(block, 0);
    return Array.from(this.state, (word) => (word >>> 0).toString(16).padStart(8, '0')).join('');
  }

  /** §6.2.2, one block of 64 bytes from `at`. */
  private compress(bytes: Uint8Array, at: number): void {
    const w = this.schedule;
    const state = this.state;
    for (let t = 0; t < 16; t++) {
      const i = at + 4 * t;
      w[t] = (bytes[i]! << 24) | (bytes[i + 1]! << 16) | (bytes[i + 2]! << 8) | bytes[i + 3]!;
    }
    for (let t = 16; t < 64; t++) {
      const early = w[t - 15]!;
      const late = w[t - 2]!;
      const sigma0 = ((early >>> 7) | (early << 25)) ^ ((early >>> 18) | (early << 14)) ^ (early >>> 3);
      const sigma1 = ((late >>> 17) | (late << 15)) ^ ((late >>> 19) | (late << 13)) ^ (late >>> 10);
      w[t] = (sigma1 + w[t - 7]! + sigma0 + w[t - 16]!) | 0;
    }
    let a = state[0]!, b = state[1]!, c = state[2]!, d = state[3]!, e = state[4]!, f = state[5]!, g = state[6]!, h = state[7]!;
    for (let t = 0; t < 64; t++) {
      const sum1 = ((e >>> 6) | (e << 26)) ^ ((e >>> 11) | (e << 21)) ^ ((e >>> 25) | (e << 7));
      const choice = (e & f) ^ (~e & g);
      const first = (h + sum1 + choice + ROUND_CONSTANTS[t]! + w[t]!) | 0;
      const sum0 = ((a >>> 2) | (a << 30)) ^ ((a >>> 13) | (a << 19)) ^ ((a >>> 22) | (a << 10));
      const majority = (a & b) ^ (a & c) ^ (b & c);
      h = g;
      g = f;
      f = e;
      e = (d + first) | 0;
      d = c;
      c = b;
      b = a;
      a = (first + sum0 + majority) | 0;
    }
    state[0] = state[0]! + a;
    state[1] = state[1]! + b;
    state[2] = state[2]! + c;
    state[3] = state[3]! + d;
    state[4] = state[4]! + e;
    state[5] = state[5]! + f;
    state[6] = state[6]! + g;
    state[7] = state[7]! + h;
  }
}

/** The SHA-256 of the bytes: 64 lower-case hexadecimal digits. */
export function sha256(bytes: Uint8Array): string {
  return new Sha256().update(bytes).digestHex();
}
