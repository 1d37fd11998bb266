/** What a recording of noise has, measured apart from the bench: averaged spectra under Hann windows with half overlap (P. Welch 1967). */
import { RealFft } from '../../dsp/math/index.ts';

export interface MeasuredDensity {
  readonly binHz: number;
  /** One-sided, per hertz, of bins 0 … size/2. */
  readonly density: Float64Array;
}

export function measureDensity(samples: Float64Array, rateHz: number, size = 16_384): MeasuredDensity {
  const fft = new RealFft(size);
  const window = Float64Array.from({ length: size }, (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * i) / size));
  const power = window.reduce((sum, w) => sum + w * w, 0);
  const density = new Float64Array(size / 2 + 1);
  const re = new Float64Array(size / 2 + 1);
  const im = new Float64Array(size / 2 + 1);
  let count = 0;
  for (let at = 0; at + size <= samples.length; at += size / 2) {
    fft.forward(window.map((w, i) => w * samples[at + i]!), re, im);
    for (let k = 0; k < density.length; k += 1) density[k] = density[k]! + re[k]! * re[k]! + im[k]! * im[k]!;
    count += 1;
  }
  return { binHz: rateHz / size, density: density.map((sum) => (2 * sum) / (count * power * rateHz)) };
}

/** Mean square between two frequencies. */
export function bandSquare({ binHz, density }: MeasuredDensity, lowHz: number, highHz: number): number {
  let sum = 0;
  for (let k = 1; k < density.length; k += 1) {
    // The share of the bin that lies in the band.
    const share = Math.min(highHz, (k + 0.5) * binHz) - Math.max(lowHz, (k - 0.5) * binHz);
    if (share > 0) sum += share * density[k]!;
  }
  return sum;
}
