import { describe, expect, it } from 'vitest';
import { SeededRandom } from '../../dsp/math/index.ts';

const count = 200_000;

describe('seeded random numbers', () => {
  it('repeats with the seed, and differs without', () => {
    const a = new SeededRandom(7);
    const b = new SeededRandom(7);
    const c = new SeededRandom(8);
    const numbers = Array.from({ length: 100 }, () => a.nextUint32());
    expect(Array.from({ length: 100 }, () => b.nextUint32())).toEqual(numbers);
    expect(Array.from({ length: 100 }, () => c.nextUint32())).not.toEqual(numbers);
    expect(new Set(numbers).size).toBe(100);
  });

  it('follows the published recurrence, written out with whole numbers of any size', () => {
    const mask = 0xffffffffn;
    const rotate = (x: bigint, k: bigint): bigint => ((x << k) | (x >> (32n - k))) & mask;
    const generator = new SeededRandom(3);
    const s = Array.from((generator as unknown as { state: Uint32Array }).state, BigInt) as [bigint, bigint, bigint, bigint];
    for (let i = 0; i < 1000; i++) {
      const result = (rotate((s[1] * 5n) & mask, 7n) * 9n) & mask;
      const t = (s[1] << 9n) & mask;
      s[2] ^= s[0];
      s[3] ^= s[1];
      s[1] ^= s[2];
      s[0] ^= s[3];
      s[2] ^= t;
      s[3] = rotate(s[3], 11n);
      expect(BigInt(generator.nextUint32())).toBe(result);
    }
  });

  it('is uniform: mean, variance and every sixteenth within five standard errors', () => {
    const generator = new SeededRandom(20261125);
    let outside = 0;
    const bins = new Array<number>(16).fill(0);
    let sum = 0;
    let squares = 0;
    for (let i = 0; i < count; i++) {
      const u = generator.nextUnit();
      if (!(u >= 0 && u < 1)) outside++;
      sum += u - 0.5;
      squares += (u - 0.5) * (u - 0.5);
      bins[Math.floor(16 * u)]!++;
    }
    expect(outside).toBe(0);
    expect(Math.abs(sum / count) <= 5 * Math.sqrt(1 / 12 / count)).toBe(true);
    expect(Math.abs(squares / count - 1 / 12) <= 5 * Math.sqrt(1 / 180 / count)).toBe(true);
    for (const bin of bins) expect(Math.abs(bin - count / 16) <= 5 * Math.sqrt(count / 16)).toBe(true);
  });

  it('is normal: first four moments and the tail beyond three within five standard errors', () => {
    const generator = new SeededRandom(20261125);
    const moments = [0, 0, 0, 0];
    let beyond = 0;
    for (let i = 0; i < count; i++) {
      const g = generator.nextGaussian();
      for (let k = 0, product = g; k < 4; k++, product *= g) moments[k]! += product / count;
      if (Math.abs(g) > 3) beyond++;
    }
    const standardErrors = [1, 2, 15, 96].map((variance) => Math.sqrt(variance / count));
    [0, 1, 0, 3].forEach((expected, k) => expect(Math.abs(moments[k]! - expected) <= 5 * standardErrors[k]!, `moment ${k + 1}`).toBe(true));
    expect(Math.abs(beyond - 0.0026998 * count) <= 5 * Math.sqrt(0.0026998 * count)).toBe(true);
  });
});
