/** Single lines of a spectrum at frequencies of one's choosing. */
import { projectHarmonics } from '../../circuit/index.ts';
import { cos, cosineWindow, sin, WINDOW_TERMS } from '../../math/index.ts';
import type { WaveRecord } from './wave-record.ts';

/** Peak of the line at each frequency. */
export interface LineReader {
  readonly mean: number;
  /** Lines nearer to each other than this cannot be told apart. */
  readonly apartHz: number;
  peaksAt(hertz: readonly number[]): Float64Array;
}

/** By how much of a line's spacing a frequency may miss it. */
const offGrid = 1e-6;
/** Half the main lobe of the four-term Blackman–Harris window, in lines. */
const mainLobeLines = 4;
/** Samples between two exact angles of the turning vector: its rounding stays below 1e-13. */
const exactEvery = 256;

/**
 * Of whole periods: exact, at multiples of their frequency (RangeError beside them). Of a stretch: under a four-term Blackman–Harris window (F. J. Harris, "On the use of windows for harmonic analysis with
 * the discrete Fourier transform", 1978), the transform taken at the very frequency, so that nothing is lost between lines; what leaks from others lies 92 dB below them.
 */
export function readLines({ samples, rateHz, repeats }: WaveRecord): LineReader {
  const spacingHz = rateHz / samples.length;
  if (repeats) {
    const bins = (hertz: readonly number[]): number[] => hertz.map((hz) => binOf(hz, spacingHz));
    return {
      mean: meanOf(samples), apartHz: spacingHz,
      peaksAt: (hertz) => projectHarmonics(samples, 1, bins(hertz)).amplitudes,
    };
  }
  const window = cosineWindow(WINDOW_TERMS.blackmanHarris, samples.length);
  const weight = window.reduce((sum, w) => sum + w, 0);
  let mean = 0;
  samples.forEach((value, i) => { mean += value * window[i]!; });
  mean /= weight;
  const weighed = samples.map((value, i) => (value - mean) * window[i]!);
  return {
    mean, apartHz: mainLobeLines * spacingHz,
    peaksAt: (hertz) => Float64Array.from(hertz, (hz) => (2 / weight) * magnitudeAt(weighed, (2 * Math.PI * hz) / rateHz)),
  };
}

/** @throws RangeError for a frequency that is no multiple of the period's */
export function binOf(hz: number, spacingHz: number): number {
  const bin = Math.round(hz / spacingHz);
  if (!(Math.abs(hz / spacingHz - bin) <= offGrid)) throw new RangeError(`line: expected a multiple of ${spacingHz} Hz, which the period repeats at, got ${hz} Hz`);
  return bin;
}

function meanOf(samples: Float64Array): number {
  return samples.reduce((sum, value) => sum + value, 0) / samples.length;
}

function magnitudeAt(samples: Float64Array, radiansPerSample: number): number {
  const [turnRe, turnIm] = [cos(radiansPerSample), -sin(radiansPerSample)];
  let [re, im, vectorRe, vectorIm] = [0, 0, 1, 0];
  for (let i = 0; i < samples.length; i += 1) {
    if (i % exactEvery === 0) [vectorRe, vectorIm] = [cos(i * radiansPerSample), -sin(i * radiansPerSample)];
    re += samples[i]! * vectorRe;
    im += samples[i]! * vectorIm;
    [vectorRe, vectorIm] = [vectorRe * turnRe - vectorIm * turnIm, vectorRe * turnIm + vectorIm * turnRe];
  }
  return Math.sqrt(re * re + im * im);
}
