import { describe, expect, it } from 'vitest';
import { ComplexFft, cos, RealFft, SeededRandom, sin } from '../../dsp/math/index.ts';

const random = new SeededRandom(20261125);
const noise = (length: number): Float64Array => Float64Array.from({ length }, () => random.nextGaussian());
const rms = (values: ArrayLike<number>): number => Math.sqrt(Array.from(values).reduce((sum, x) => sum + x * x, 0) / values.length);

function directBin(x: Float64Array, k: number): [number, number] {
  let re = 0;
  let im = 0;
  for (let n = 0; n < x.length; n++) {
    const angle = 2 * Math.PI * (((k * n) % x.length) / x.length);
    re += x[n]! * cos(angle);
    im -= x[n]! * sin(angle);
  }
  return [re, im];
}

describe('real transform', () => {
  it.each([2, 4, 8, 16, 32, 64, 128, 512, 1024])('%i samples: every bin equals the defining sum', (size) => {
    const x = noise(size);
    const re = new Float64Array(size / 2 + 1);
    const im = new Float64Array(size / 2 + 1);
    new RealFft(size).forward(x, re, im);
    for (let k = 0; k <= size / 2; k++) {
      const [wantedRe, wantedIm] = directBin(x, k);
      // Rounding of the plain sum: about size · 2^−53 of the terms' size.
      expect(Math.abs(re[k]! - wantedRe) <= 1e-15 * size, `re ${k}: ${re[k]} against ${wantedRe}`).toBe(true);
      expect(Math.abs(im[k]! - wantedIm) <= 1e-15 * size, `im ${k}: ${im[k]} against ${wantedIm}`).toBe(true);
    }
  });

  it.each([2, 64, 2048, 65536, 1048576])('%i samples: inverse after forward is the signal within 1e-15 rms', (size) => {
    const x = noise(size);
    const kept = x.slice();
    const fft = new RealFft(size);
    const re = new Float64Array(size / 2 + 1);
    const im = new Float64Array(size / 2 + 1);
    const back = new Float64Array(size);
    fft.forward(x, re, im);
    expect(x.every((value, i) => value === kept[i])).toBe(true);
    fft.inverse(re, im, back);
    const error = rms(back.map((value, i) => value - x[i]!)) / rms(x);
    expect(error <= 1e-15, `${error}`).toBe(true);
    const energy = 2 * re.reduce((sum, a, k) => sum + (a * a + im[k]! * im[k]!) * (k === 0 || k === size / 2 ? 0.5 : 1), 0) / size;
    expect(Math.abs(energy / (rms(x) * rms(x) * size) - 1) <= 1e-13).toBe(true);
  });

  it('puts a sine on its bin, nothing else above −290 dB', () => {
    const size = 65536;
    const x = Float64Array.from({ length: size }, (_, n) => sin(2 * Math.PI * (((997 * n) % size) / size)));
    const re = new Float64Array(size / 2 + 1);
    const im = new Float64Array(size / 2 + 1);
    new RealFft(size).forward(x, re, im);
    let largestOther = 0;
    for (let k = 0; k <= size / 2; k++) {
      const magnitude = Math.sqrt(re[k]! * re[k]! + im[k]! * im[k]!) / (size / 2);
      if (k === 997) expect(Math.abs(magnitude - 1) <= 1e-14).toBe(true);
      else largestOther = Math.max(largestOther, Number.isNaN(magnitude) ? Infinity : magnitude);
    }
    expect(largestOther <= 3e-15, `${largestOther}`).toBe(true);
  });

  it.each([0, 1, 3, 12, 1.5, NaN, 2097152])('refuses %d samples', (size) => {
    expect(() => new RealFft(size)).toThrow(`${size}`);
  });
});

describe('complex transform', () => {
  it('is linear and moves back when the parts are exchanged', () => {
    for (const size of [1, 2, 8, 16, 4096]) {
      const re = noise(size);
      const im = noise(size);
      const outRe = re.slice();
      const outIm = im.slice();
      const fft = new ComplexFft(size);
      fft.forward(outRe, outIm);
      fft.forward(outIm, outRe);
      expect(rms(outRe.map((value, i) => value / size - re[i]!)) <= 1e-15 * 2).toBe(true);
      expect(rms(outIm.map((value, i) => value / size - im[i]!)) <= 1e-15 * 2).toBe(true);
    }
  });

  it('refuses other sizes', () => {
    expect(() => new ComplexFft(3)).toThrow('3');
  });
});
