/** Power by frequency of a record, under a window of one's choosing. */
import { cosineWindow, RealFft, WINDOW_TERMS, type WindowName } from '../../math/index.ts';
import type { WaveRecord } from './wave-record.ts';

export interface PowerSpectrum {
  readonly spacingHz: number;
  /** Mean square of each line, 0 Hz first, half the rate last; they add up to the record's mean square (of a stretch: its mean square under the windows). */
  readonly power: Float64Array;
  /** Lines on either side that a tone is spread over: 0 where whole periods are taken as they are. */
  readonly spreadLines: number;
  /** Of the window, in lines: by how much the line of a tone lies below the tone's own mean square. 1 without one. */
  readonly noiseBandwidthLines: number;
}

/** Longest stretch that is transformed at once. */
const longestFrames = 65_536;

/**
 * Of whole periods whose length is a power of two: those, without a window. Else half-overlapped windows, evenly over the record and averaged (P. D. Welch, "The use of fast Fourier transform for the
 * estimation of power spectra", 1967, from memory), each as long as the longest power of two that fits, at most 65,536 samples; periods are repeated until they fill one. A cosine-sum window spreads a tone over as many lines to either
 * side as it has terms, less one.
 */
export function powerSpectrum(record: WaveRecord, windowName: WindowName = 'blackmanHarris'): PowerSpectrum {
  const { samples, rateHz, repeats } = record;
  const { length } = samples;
  if (repeats && isPowerOfTwo(length)) return { ...averaged(samples, rateHz, length, null), spreadLines: 0, noiseBandwidthLines: 1 };
  let size = 2;
  while (2 * size <= (repeats ? longestFrames : Math.min(longestFrames, length))) size *= 2;
  const stretch = repeats ? Float64Array.from({ length: size }, (_, i) => samples[i % length]!) : samples;
  const window = cosineWindow(WINDOW_TERMS[windowName], size);
  const squares = window.reduce((sum, w) => sum + w * w, 0);
  const sum = window.reduce((total, w) => total + w, 0);
  return { ...averaged(stretch, rateHz, size, window), spreadLines: WINDOW_TERMS[windowName].length - 1, noiseBandwidthLines: (size * squares) / (sum * sum) };
}

function averaged(samples: Float64Array, rateHz: number, size: number, window: Float64Array | null): Pick<PowerSpectrum, 'spacingHz' | 'power'> {
  const fft = new RealFft(size);
  const [piece, re, im] = [new Float64Array(size), new Float64Array(size / 2 + 1), new Float64Array(size / 2 + 1)];
  const power = new Float64Array(size / 2 + 1);
  const weight = window === null ? size : window.reduce((total, w) => total + w * w, 0);
  const count = Math.max(1, Math.ceil((2 * (samples.length - size)) / size) + 1);
  for (let k = 0; k < count; k += 1) {
    const start = count === 1 ? 0 : Math.round((k * (samples.length - size)) / (count - 1));
    for (let n = 0; n < size; n += 1) piece[n] = samples[start + n]! * (window === null ? 1 : window[n]!);
    fft.forward(piece, re, im);
    for (let line = 0; line < power.length; line += 1) power[line] = power[line]! + re[line]! * re[line]! + im[line]! * im[line]!;
  }
  // Parseval: two of every pair but at 0 and at half the rate.
  const scale = 1 / (count * size * weight);
  for (let line = 0; line < power.length; line += 1) power[line] = power[line]! * scale * (line === 0 || line === size / 2 ? 1 : 2);
  return { spacingHz: rateHz / size, power };
}

function isPowerOfTwo(count: number): boolean {
  return count >= 2 && (count & (count - 1)) === 0;
}
