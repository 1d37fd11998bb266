import { cos, sin } from '../../math/index.ts';

/** Below this nothing is a tone: what is there is a bias that moves. */
export const slowBelowHz = 20;
/** Played into the filter before what counts: its slowest part falls by 190 dB in that time. */
const settleSeconds = 0.25;
const stepSamples = 16_384;

/**
 * What a loop that goes round holds below 20 Hz: a second-order Butterworth low-pass run forwards and backwards, so that nothing is late; half is left at 20 Hz, a sixteenth an octave
 * above. Trapezoidal integrators (the topology of V. Zavalishin, "The art of VA filter design", 2012, section 4; from memory). Yields between stretches. Off the audio thread.
 */
export function* slowPart(loop: Float64Array, rateHz: number): Generator<undefined, Float64Array> {
  const onward = yield* lowPassed(loop, rateHz, 1);
  return yield* lowPassed(onward, rateHz, -1);
}

function* lowPassed(loop: Float64Array, rateHz: number, direction: 1 | -1): Generator<undefined, Float64Array> {
  const frames = loop.length;
  const angle = (Math.PI * slowBelowHz) / rateHz;
  const g = sin(angle) / cos(angle);
  const share = 1 / (1 + g * (g + Math.SQRT2));
  const settle = Math.round(settleSeconds * rateHz);
  const low = new Float64Array(frames);
  let [first, second] = [0, 0];
  for (let n = -settle; n < frames; n += 1) {
    const place = ((n % frames) + frames) % frames;
    const at = direction > 0 ? place : frames - 1 - place;
    const v1 = (first + g * (loop[at]! - second)) * share;
    const v2 = second + g * v1;
    first = 2 * v1 - first;
    second = 2 * v2 - second;
    low[at] = v2;
    if (n % stepSamples === 0) yield undefined;
  }
  return low;
}
