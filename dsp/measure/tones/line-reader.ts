/** Single lines of a spectrum at frequencies of one's choosing. */
import { projectHarmonics, type HarmonicProjection } from '../../circuit/index.ts';
import { atan2, cos, cosineWindow, sin, WINDOW_TERMS } from '../../math/index.ts';
import type { WaveRecord } from './wave-record.ts';

export interface LineReader {
  /** Lines nearer to each other than this cannot be told apart. */
  readonly apartHz: number;
  /** Mean, and peak and phase of the line at each frequency, relative to a cosine that begins with the record. */
  at(hertz: readonly number[]): HarmonicProjection;
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
    return { apartHz: spacingHz, at: (hertz) => projectHarmonics(samples, 1, hertz.map((hz) => binOf(hz, spacingHz))) };
  }
  const window = cosineWindow(WINDOW_TERMS.blackmanHarris, samples.length);
  const weight = window.reduce((sum, w) => sum + w, 0);
  const mean = samples.reduce((sum, value, i) => sum + value * window[i]!, 0) / weight;
  const weighed = samples.map((value, i) => (value - mean) * window[i]!);
  return {
    apartHz: mainLobeLines * spacingHz,
    at: (hertz) => {
      const lines = hertz.map((hz) => lineAt(weighed, (2 * Math.PI * hz) / rateHz));
      return {
        dcVolts: mean,
        amplitudes: Float64Array.from(lines, ([re, im]) => (2 / weight) * Math.sqrt(re * re + im * im)),
        phases: Float64Array.from(lines, ([re, im]) => atan2(im, re)),
      };
    },
  };
}

/** @throws RangeError for a frequency that is no multiple of the period's */
export function binOf(hz: number, spacingHz: number): number {
  const bin = Math.round(hz / spacingHz);
  if (!(Math.abs(hz / spacingHz - bin) <= offGrid)) throw new RangeError(`line: expected a multiple of ${spacingHz} Hz, which the period repeats at, got ${hz} Hz`);
  return bin;
}

/** Σ x e^(−jωi). */
export function lineAt(samples: Float64Array, radiansPerSample: number): readonly [re: number, im: number] {
  const [turnRe, turnIm] = [cos(radiansPerSample), -sin(radiansPerSample)];
  let [re, im, vectorRe, vectorIm] = [0, 0, 1, 0];
  for (let i = 0; i < samples.length; i += 1) {
    if (i % exactEvery === 0) [vectorRe, vectorIm] = [cos(i * radiansPerSample), -sin(i * radiansPerSample)];
    re += samples[i]! * vectorRe;
    im += samples[i]! * vectorIm;
    [vectorRe, vectorIm] = [vectorRe * turnRe - vectorIm * turnIm, vectorRe * turnIm + vectorIm * turnRe];
  }
  return [re, im];
}
