// In-place complex Fourier transform of a power-of-two length, four branches at a time.
import { cos, sin } from './trigonometric.ts';

/** cos(2π index/size) and sin(2π index/size), reduced to the first eighth of the circle so that symmetric points are equal to the bit. */
export function unitRoot(index: number, size: number): [cosine: number, sine: number] {
  const eighths = 8 * (((index % size) + size) % size);
  const octant = Math.floor(eighths / size);
  const past = (eighths - octant * size) / 8;
  const part = (octant & 1) === 0 ? past : size / 8 - past;
  const angle = 2 * Math.PI * (part / size);
  const near = cos(angle);
  // On the diagonal both are the same number, whichever octant it is counted to.
  const far = 8 * part === size ? near : sin(angle);
  switch (octant) {
    case 0: return [near, far];
    case 1: return [far, near];
    case 2: return [-far, near];
    case 3: return [-near, far];
    case 4: return [-near, -far];
    case 5: return [-far, -near];
    case 6: return [far, -near];
    default: return [near, -far];
  }
}

/**
 * X[k] = Σ x[n] e^(−2πi kn/size), unnormalised, for size = 2^p, p = 0 … 20. Tables are made once, at construction;
 * `forward` allocates nothing and its order of operations is fixed. Throws for other sizes.
 * Source: radix-4 decimation in time after bit reversal (J. W. Cooley, J. W. Tukey 1965; two radix-2 steps joined).
 */
export class ComplexFft {
  readonly size: number;
  private readonly reversed: Uint32Array;
  /** For each radix-4 step and each j: w^j, w^2j, w^3j as re, im. */
  private readonly twiddles: Float64Array;
  private readonly firstQuarter: number;

  constructor(size: number) {
    if (!(Number.isInteger(size) && size >= 1 && size <= 1048576 && (size & (size - 1)) === 0)) {
      throw new Error(`transform: expected a power of two from 1 to 1048576 points, got ${size}`);
    }
    this.size = size;
    const bits = 31 - Math.clz32(size);
    this.reversed = reversedIndices(size, bits);
    this.firstQuarter = bits % 2 === 0 ? 1 : 2;
    this.twiddles = stepTwiddles(size, this.firstQuarter);
  }

  /** Transforms re + i im in place. To transform back, exchange the two arguments and divide by size. */
  forward(re: Float64Array, im: Float64Array): void {
    this.permute(re, im);
    const size = this.size;
    if (this.firstQuarter === 2) {
      for (let i = 0; i < size; i += 2) {
        const a = re[i]!;
        const b = im[i]!;
        const c = re[i + 1]!;
        const d = im[i + 1]!;
        re[i] = a + c;
        im[i] = b + d;
        re[i + 1] = a - c;
        im[i + 1] = b - d;
      }
    }
    let at = 0;
    for (let quarter = this.firstQuarter; quarter * 4 <= size; quarter *= 4) {
      this.step(re, im, quarter, at);
      at += 6 * quarter;
    }
  }

  private permute(re: Float64Array, im: Float64Array): void {
    const reversed = this.reversed;
    for (let i = 0; i < reversed.length; i++) {
      const j = reversed[i]!;
      if (j <= i) continue;
      const keptRe = re[i]!;
      const keptIm = im[i]!;
      re[i] = re[j]!;
      im[i] = im[j]!;
      re[j] = keptRe;
      im[j] = keptIm;
    }
  }

  private step(re: Float64Array, im: Float64Array, quarter: number, twiddlesAt: number): void {
    const twiddles = this.twiddles;
    const size = this.size;
    const length = 4 * quarter;
    for (let start = 0; start < size; start += length) {
      let t = twiddlesAt;
      for (let i0 = start; i0 < start + quarter; i0++) {
        // Bit reversal leaves the residues 0, 2, 1, 3 of the index modulo 4 in this order.
        const i2 = i0 + quarter;
        const i1 = i2 + quarter;
        const i3 = i1 + quarter;
        const w1 = twiddles[t]!;
        const v1 = twiddles[t + 1]!;
        const w2 = twiddles[t + 2]!;
        const v2 = twiddles[t + 3]!;
        const w3 = twiddles[t + 4]!;
        const v3 = twiddles[t + 5]!;
        t += 6;
        const a0 = re[i0]!;
        const b0 = im[i0]!;
        const a1 = re[i1]! * w1 - im[i1]! * v1;
        const b1 = re[i1]! * v1 + im[i1]! * w1;
        const a2 = re[i2]! * w2 - im[i2]! * v2;
        const b2 = re[i2]! * v2 + im[i2]! * w2;
        const a3 = re[i3]! * w3 - im[i3]! * v3;
        const b3 = re[i3]! * v3 + im[i3]! * w3;
        const evenSumRe = a0 + a2;
        const evenSumIm = b0 + b2;
        const evenDifferenceRe = a0 - a2;
        const evenDifferenceIm = b0 - b2;
        const oddSumRe = a1 + a3;
        const oddSumIm = b1 + b3;
        const oddDifferenceRe = a1 - a3;
        const oddDifferenceIm = b1 - b3;
        re[i0] = evenSumRe + oddSumRe;
        im[i0] = evenSumIm + oddSumIm;
        re[i2] = evenDifferenceRe + oddDifferenceIm;
        im[i2] = evenDifferenceIm - oddDifferenceRe;
        re[i1] = evenSumRe - oddSumRe;
        im[i1] = evenSumIm - oddSumIm;
        re[i3] = evenDifferenceRe - oddDifferenceIm;
        im[i3] = evenDifferenceIm + oddDifferenceRe;
      }
    }
  }
}

function reversedIndices(size: number, bits: number): Uint32Array {
  const reversed = new Uint32Array(size);
  for (let i = 1; i < size; i++) reversed[i] = (reversed[i >> 1]! >> 1) | ((i & 1) << (bits - 1));
  return reversed;
}

function stepTwiddles(size: number, firstQuarter: number): Float64Array {
  const values: number[] = [];
  for (let quarter = firstQuarter; quarter * 4 <= size; quarter *= 4) {
    for (let j = 0; j < quarter; j++) {
      for (let power = 1; power <= 3; power++) {
        const [cosine, sine] = unitRoot(power * j, 4 * quarter);
        values.push(cosine, -sine);
      }
    }
  }
  return Float64Array.from(values);
}
