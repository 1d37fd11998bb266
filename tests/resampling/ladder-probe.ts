// Measures the ladder by what comes out of it: impulse responses, their transforms, and tones.
import { Downsampler, Upsampler } from '../../dsp/resampling/index.ts';
import type { LadderDesign } from '../../dsp/resampling/index.ts';

/** Runs base-rate input up. */
export function up(design: LadderDesign, input: Float64Array): Float64Array {
  const output = new Float64Array(input.length * design.factor);
  new Upsampler(design).process(input, 0, input.length, output, 0);
  return output;
}

/** Runs internal-rate input down; its length must be a multiple of the factor. */
export function down(design: LadderDesign, input: Float64Array): Float64Array {
  const output = new Float64Array(input.length / design.factor);
  new Downsampler(design).process(input, 0, output.length, output, 0);
  return output;
}

/** Up and down again. */
export function roundTrip(design: LadderDesign, input: Float64Array): Float64Array {
  return down(design, up(design, input));
}

/** A frame of 1 among zeros. */
export function impulse(length: number, at = 0): Float64Array {
  const signal = new Float64Array(length);
  signal[at] = 1;
  return signal;
}

/** The level in dB of the response Σ h[n] e^(−jωn) at a frequency given as a fraction of the rate of h, relative to `unity`. */
export function responseDb(h: Float64Array, frequency: number, unity = 1): number {
  let re = 0;
  let im = 0;
  for (let n = 0; n < h.length; n++) {
    if (h[n] === 0) continue;
    const angle = 2 * Math.PI * ((frequency * n) % 1);
    re += h[n]! * Math.cos(angle);
    im -= h[n]! * Math.sin(angle);
  }
  return 20 * Math.log10(Math.hypot(re, im) / unity);
}

/** −dφ/dω at zero frequency, in frames: the centre of gravity of the impulse response. */
export function lowFrequencyDelayFrames(h: Float64Array): number {
  let sum = 0;
  let moment = 0;
  h.forEach((value, n) => {
    sum += value;
    moment += n * value;
  });
  return moment / sum;
}
