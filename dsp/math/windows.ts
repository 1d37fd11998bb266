// Windows for spectra and filters, and the figures that describe them.
import { scaledBesselI } from './bessel.ts';
import { unitRoot } from './complex-fft.ts';
import { ratioToDecibels } from './decibels.ts';
import { cos, sin } from './trigonometric.ts';
import { exp } from './exp.ts';

/**
 * Cosine-sum windows as magnitudes of their terms: w(t) = c0 − c1 cos t + c2 cos 2t − …, t = 2πi/length.
 * Sources: F. J. Harris 1978 (Hann, Blackman–Harris); A. H. Nuttall 1981; G. Heinzel, A. Rüdiger, R. Schilling 2002 (flat tops).
 */
export const WINDOW_TERMS = {
  rectangular: [1],
  hann: [0.5, 0.5],
  blackmanHarris: [0.35875, 0.48829, 0.14128, 0.01168],
  nuttall: [0.355768, 0.487396, 0.144232, 0.012604],
  flatTop5: [0.209671, 0.407331, 0.281225, 0.092669, 0.0091036],
  flatTop90: [1, 1.942604, 1.340318, 0.440811, 0.043097],
} as const satisfies Record<string, readonly number[]>;

export type WindowName = keyof typeof WINDOW_TERMS;

/** A cosine-sum window of `length` points. Periodic (for spectra) unless `symmetric` (for filters: first point equals last). */
export function cosineWindow(terms: readonly number[], length: number, symmetric = false): Float64Array {
  const window = new Float64Array(length);
  const period = symmetric ? length - 1 : length;
  for (let i = 0; i < length; i++) {
    let sum = terms[0] ?? 0;
    for (let k = 1; k < terms.length; k++) {
      const cosine = period === 0 ? 1 : unitRoot(k * i, period)[0];
      sum += (k % 2 === 0 ? terms[k]! : -terms[k]!) * cosine;
    }
    window[i] = sum;
  }
  return window;
}

/** The Kaiser window, symmetric: I0(β √(1 − u²)) / I0(β), u from −1 to 1. Source: J. F. Kaiser 1974. */
export function kaiserWindow(length: number, beta: number): Float64Array {
  const window = new Float64Array(length);
  const middle = scaledBesselI(0, beta);
  for (let i = 0; i < length; i++) {
    const u = length === 1 ? 0 : (2 * i - (length - 1)) / (length - 1);
    const argument = beta * Math.sqrt(1 - u * u);
    window[i] = scaledBesselI(0, argument) / middle * exp(argument - beta);
  }
  return window;
}

/** Kaiser's β for a stop band of this attenuation, above 50 dB. Throws at or below 50 dB, where another rule holds. Source: J. F. Kaiser 1974. */
export function kaiserBeta(attenuationDb: number): number {
  if (!(attenuationDb > 50)) throw new Error(`Kaiser window: expected an attenuation above 50 dB, got ${attenuationDb}`);
  return 0.1102 * (attenuationDb - 8.7);
}

/** Kaiser's estimate of the number of taps, before rounding up; the width in radians per sample. */
export function kaiserTaps(attenuationDb: number, transitionRadians: number): number {
  return (attenuationDb - 7.95) / (2.285 * transitionRadians) + 1;
}

/** The inverse of `kaiserTaps`: the attenuation in dB that so many taps reach. */
export function kaiserAttenuationDb(taps: number, transitionRadians: number): number {
  return 2.285 * (taps - 1) * transitionRadians + 7.95;
}

/** Σw / length: what a sine on a bin is scaled by. */
export function coherentGain(window: Float64Array): number {
  let sum = 0;
  for (const value of window) sum += value;
  return sum / window.length;
}

/** Equivalent noise bandwidth in bins: length · Σw² / (Σw)². Source: Harris 1978. */
export function noiseBandwidthBins(window: Float64Array): number {
  let sum = 0;
  let squares = 0;
  for (const value of window) {
    sum += value;
    squares += value * value;
  }
  return window.length * squares / (sum * sum);
}

/** The gain, in dB relative to a sine on the bin, of a sine `offsetBins` away from it (its mirror image neglected). */
export function offsetGainDb(window: Float64Array, offsetBins: number): number {
  let sumRe = 0;
  let sumIm = 0;
  let sum = 0;
  for (let i = 0; i < window.length; i++) {
    const angle = 2 * Math.PI * offsetBins * (i / window.length);
    sumRe += window[i]! * cos(angle);
    sumIm += window[i]! * sin(angle);
    sum += window[i]!;
  }
  return ratioToDecibels(Math.sqrt(sumRe * sumRe + sumIm * sumIm) / Math.abs(sum));
}
