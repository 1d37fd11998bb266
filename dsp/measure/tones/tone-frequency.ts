/** The frequency that a tone of a recording in fact has: clocks of two devices never agree. */
import { atan2, cosineWindow, WINDOW_TERMS } from '../../math/index.ts';
import { lineAt } from './line-reader.ts';

/** A first stretch of at least so many cycles and seconds, so that neighbouring lines are apart. */
const [fewestCycles, shortestSeconds] = [16, 0.1];
/** From the nominal, as a share: further off there is another tone, or none. */
const farthest = 0.02;
/** Samples beyond which nothing more is gained. */
const longestFrames = 524_288;

/**
 * By how much the phase turns from the first half of a stretch to the second beyond what `nominalHz` would make of it; then the same over stretches twice as long, from the frequency found. Finds what lies within 2 % and about
 * 4 Hz of the nominal; else, and of a stretch too short for that, the nominal frequency as it is.
 */
export function toneFrequency(samples: Float64Array, rateHz: number, nominalHz: number): number {
  const hz = followed(samples, rateHz, nominalHz);
  return Math.abs(hz / nominalHz - 1) <= farthest ? hz : nominalHz;
}

function followed(samples: Float64Array, rateHz: number, nominalHz: number): number {
  let frames = Math.ceil(rateHz * Math.max(shortestSeconds, fewestCycles / nominalHz));
  let hz = nominalHz;
  for (;;) {
    if (frames > Math.min(samples.length, longestFrames)) return hz;
    hz = refined(samples, frames, rateHz, hz);
    const last = Math.min(samples.length, longestFrames);
    if (frames === last) return hz;
    frames = Math.min(2 * frames, last);
  }
}

function refined(samples: Float64Array, frames: number, rateHz: number, hz: number): number {
  const half = Math.floor(frames / 2);
  const window = cosineWindow(WINDOW_TERMS.blackmanHarris, half);
  const turn = (2 * Math.PI * hz) / rateHz;
  const phaseOf = (from: number): number => {
    const weighed = Float64Array.from({ length: half }, (_, i) => samples[from + i]! * window[i]!);
    const [re, im] = lineAt(weighed, turn);
    return atan2(im, re);
  };
  const apart = phaseOf(half) - phaseOf(0) - turn * half;
  const wrapped = apart - 2 * Math.PI * Math.round(apart / (2 * Math.PI));
  return hz + (wrapped * rateHz) / (2 * Math.PI * half);
}
