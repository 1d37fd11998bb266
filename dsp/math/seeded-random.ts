// A seeded random generator in integer arithmetic: the same numbers wherever it runs.
import { log } from './log.ts';

/**
 * xoshiro128** with its state filled from a 32-bit seed by a mixing counter. Period 2^128 − 1.
 * Source: D. Blackman, S. Vigna, Scrambled Linear Pseudorandom Number Generators, 2021 (from memory); the seeding mixer is
 * the 32-bit finaliser of A. Appleby's public-domain hash (from memory). Not for secrets. Allocates nothing after construction.
 */
export class SeededRandom {
  private readonly state = new Uint32Array(4);
  private spareGaussian = 0;
  private hasSpare = false;

  /** @param seed any integer; its low 32 bits count. */
  constructor(seed: number) {
    let counter = seed >>> 0;
    for (let i = 0; i < 4; i++) {
      counter = (counter + 0x9e3779b9) >>> 0;
      let mixed = counter;
      mixed = Math.imul(mixed ^ (mixed >>> 16), 0x85ebca6b);
      mixed = Math.imul(mixed ^ (mixed >>> 13), 0xc2b2ae35);
      this.state[i] = mixed ^ (mixed >>> 16);
    }
  }

  /** A whole number, uniform over 0 … 2^32 − 1. */
  nextUint32(): number {
    const s = this.state;
    const times5 = Math.imul(s[1]!, 5);
    const result = Math.imul((times5 << 7) | (times5 >>> 25), 9) >>> 0;
    const shifted = s[1]! << 9;
    s[2] = s[2]! ^ s[0]!;
    s[3] = s[3]! ^ s[1]!;
    s[1] = s[1]! ^ s[2]!;
    s[0] = s[0]! ^ s[3]!;
    s[2] = s[2]! ^ shifted;
    const last = s[3]!;
    s[3] = (last << 11) | (last >>> 21);
    return result;
  }

  /** Uniform over [0, 1), 53 bits. */
  nextUnit(): number {
    const high = this.nextUint32() >>> 5;
    const low = this.nextUint32() >>> 6;
    return (high * 67108864 + low) / 9007199254740992;
  }

  /** Normally distributed, mean 0, standard deviation 1. Source: G. Marsaglia, T. A. Bray 1964 (polar method). */
  nextGaussian(): number {
    if (this.hasSpare) {
      this.hasSpare = false;
      return this.spareGaussian;
    }
    for (;;) {
      const x = 2 * this.nextUnit() - 1;
      const y = 2 * this.nextUnit() - 1;
      const square = x * x + y * y;
      if (square >= 1 || square === 0) continue;
      const scale = Math.sqrt(-2 * log(square) / square);
      this.spareGaussian = y * scale;
      this.hasSpare = true;
      return x * scale;
    }
  }
}
