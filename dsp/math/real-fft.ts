// Fourier transform of real signals, by a complex transform of half the length.
import { ComplexFft, unitRoot } from './complex-fft.ts';

/**
 * Forward and inverse transform of `size` real samples, size = 2^p, p = 1 … 20. Tables and work space are made at
 * construction; `forward` and `inverse` allocate nothing. Rounding error about 1e-16 · log2(size), rms, relative to the rms
 * of the spectrum. Throws for other sizes.
 */
export class RealFft {
  readonly size: number;
  private readonly half: ComplexFft;
  private readonly workRe: Float64Array;
  private readonly workIm: Float64Array;
  private readonly cosines: Float64Array;
  private readonly sines: Float64Array;

  constructor(size: number) {
    if (!(Number.isInteger(size) && size >= 2 && size <= 1048576 && (size & (size - 1)) === 0)) {
      throw new Error(`real transform: expected a power of two from 2 to 1048576 samples, got ${size}`);
    }
    this.size = size;
    const half = size / 2;
    this.half = new ComplexFft(half);
    this.workRe = new Float64Array(half);
    this.workIm = new Float64Array(half);
    this.cosines = new Float64Array(half / 2 + 1);
    this.sines = new Float64Array(half / 2 + 1);
    for (let k = 0; k < this.cosines.length; k++) {
      const [cosine, sine] = unitRoot(k, size);
      this.cosines[k] = cosine;
      this.sines[k] = sine;
    }
  }

  /**
   * X[k] = Σ x[n] e^(−2πi kn/size) for k = 0 … size/2, unnormalised: a sine of peak 1 on a bin has magnitude size/2.
   * `input` holds size samples and is kept; `re` and `im` hold size/2 + 1 values.
   */
  forward(input: Float64Array, re: Float64Array, im: Float64Array): void {
    const half = this.size / 2;
    const workRe = this.workRe;
    const workIm = this.workIm;
    for (let i = 0; i < half; i++) {
      workRe[i] = input[2 * i]!;
      workIm[i] = input[2 * i + 1]!;
    }
    this.half.forward(workRe, workIm);
    re[0] = workRe[0]! + workIm[0]!;
    im[0] = 0;
    re[half] = workRe[0]! - workIm[0]!;
    im[half] = 0;
    for (let k = 1; 2 * k <= half; k++) {
      const mirror = half - k;
      const evenRe = 0.5 * (workRe[k]! + workRe[mirror]!);
      const evenIm = 0.5 * (workIm[k]! - workIm[mirror]!);
      const oddRe = 0.5 * (workIm[k]! + workIm[mirror]!);
      const oddIm = -0.5 * (workRe[k]! - workRe[mirror]!);
      const turnedRe = oddRe * this.cosines[k]! + oddIm * this.sines[k]!;
      const turnedIm = oddIm * this.cosines[k]! - oddRe * this.sines[k]!;
      re[k] = evenRe + turnedRe;
      im[k] = evenIm + turnedIm;
      re[mirror] = evenRe - turnedRe;
      im[mirror] = turnedIm - evenIm;
    }
  }

  /** The inverse, scaled so that `inverse(forward(x))` is x. `re` and `im` are kept; the imaginary parts of bins 0 and size/2 are ignored. */
  inverse(re: Float64Array, im: Float64Array, output: Float64Array): void {
    const half = this.size / 2;
    const workRe = this.workRe;
    const workIm = this.workIm;
    workRe[0] = 0.5 * (re[0]! + re[half]!);
    workIm[0] = 0.5 * (re[0]! - re[half]!);
    for (let k = 1; 2 * k <= half; k++) {
      const mirror = half - k;
      const evenRe = 0.5 * (re[k]! + re[mirror]!);
      const evenIm = 0.5 * (im[k]! - im[mirror]!);
      const turnedRe = 0.5 * (re[k]! - re[mirror]!);
      const turnedIm = 0.5 * (im[k]! + im[mirror]!);
      const oddRe = turnedRe * this.cosines[k]! - turnedIm * this.sines[k]!;
      const oddIm = turnedIm * this.cosines[k]! + turnedRe * this.sines[k]!;
      workRe[k] = evenRe - oddIm;
      workIm[k] = evenIm + oddRe;
      workRe[mirror] = evenRe + oddIm;
      workIm[mirror] = oddRe - evenIm;
    }
    this.half.forward(workIm, workRe);
    const scale = 1 / half;
    for (let i = 0; i < half; i++) {
      output[2 * i] = workRe[i]! * scale;
      output[2 * i + 1] = workIm[i]! * scale;
    }
  }
}
