/** What a path's harmonics are at every frequency at once, from one exponential sweep through it. */
import { cos, log, RealFft, sin } from '../../math/index.ts';
import { harmonicAdvanceSeconds, type ExponentialSweep } from './exponential-sweep.ts';
import { lineAt } from './line-reader.ts';
import { whyUnreadable, type Metered } from './wave-record.ts';

export interface SweepResponse {
  /** From 1 on. */
  readonly order: number;
  /** By how much it came early, as measured: where its response is strongest. */
  readonly advanceSeconds: number;
  /** Peak of the harmonic, per peak 1 of the sweep, while the sweep passes each of the frequencies asked for; NaN where the harmonic lies at or above half the rate. */
  readonly amplitudes: Float64Array;
}

/** Of a response's window, at either end: faded. */
const fadedShare = 0.2;
/** Longest piece of a response: lines 6 Hz apart at 384 kHz, and no more work than that. */
const longestSeconds = 0.17;
const largestTransform = 1_048_576;

/**
 * `output` begins with the sweep and goes on after it, so that what rings has died away. Responses are taken apart in time: each from half-way to the next higher harmonic to half-way to the next lower one. The inverse of the sweep is
 * 2 √(f/L) e^(−j [2πfL (1 − ln(f/f1)) − π/4]) (Novak, Lotton, Simon 2015; here from the stationary phase of the sweep), zero below f1.
 */
export function sweepResponses(output: Float64Array, sweep: ExponentialSweep, rateHz: number, orders: readonly number[], hertz: readonly number[]): Metered<{ readonly responses: readonly SweepResponse[] }> {
  const refusal = whyUnreadable({ samples: output });
  if (refusal !== null) return { refusal };
  let size = 2;
  while (size < output.length) size *= 2;
  if (size > largestTransform) return { refusal: `too long: expected at most ${largestTransform} samples, got ${output.length}` };
  const impulse = deconvolved(output, sweep, rateHz, size);
  return {
    responses: orders.map((order) => {
      const piece = pieceOf(impulse, sweep, rateHz, order);
      const amplitudes = Float64Array.from(hertz, (hz) => {
        const at = order * hz;
        if (!(at < rateHz / 2)) return NaN;
        const [re, im] = lineAt(piece.samples, (2 * Math.PI * at) / rateHz);
        return Math.sqrt(re * re + im * im);
      });
      return { order, advanceSeconds: piece.advanceSeconds, amplitudes };
    }),
  };
}

function deconvolved(output: Float64Array, { fromHz, constantSeconds }: ExponentialSweep, rateHz: number, size: number): Float64Array {
  const fft = new RealFft(size);
  const samples = new Float64Array(size);
  samples.set(output);
  const [re, im] = [new Float64Array(size / 2 + 1), new Float64Array(size / 2 + 1)];
  fft.forward(samples, re, im);
  const spacingHz = rateHz / size;
  for (let line = 0; line <= size / 2; line += 1) {
    const hz = line * spacingHz;
    if (hz < fromHz) {
      re[line] = 0;
      im[line] = 0;
      continue;
    }
    const scale = (2 * Math.sqrt(hz / constantSeconds)) / rateHz;
    const angle = Math.PI / 4 - 2 * Math.PI * hz * constantSeconds * (1 - log(hz / fromHz));
    const [turnRe, turnIm] = [scale * cos(angle), scale * sin(angle)];
    const [a, b] = [re[line]!, im[line]!];
    re[line] = a * turnRe - b * turnIm;
    im[line] = a * turnIm + b * turnRe;
  }
  fft.inverse(re, im, samples);
  return samples;
}

/** One response, its window faded at both ends; time before the start of the record stands at the end of the transform. */
function pieceOf(impulse: Float64Array, sweep: ExponentialSweep, rateHz: number, order: number): { readonly samples: Float64Array; readonly advanceSeconds: number } {
  const advance = harmonicAdvanceSeconds(sweep, order);
  const early = Math.min(longestSeconds, (harmonicAdvanceSeconds(sweep, order + 1) - advance) / 2);
  const late = order === 1 ? longestSeconds : Math.min(longestSeconds, (advance - harmonicAdvanceSeconds(sweep, order - 1)) / 2);
  const [before, after] = [Math.floor(early * rateHz), Math.floor(late * rateHz)];
  const centre = Math.round(-advance * rateHz);
  const samples = new Float64Array(before + after);
  let strongest = 0;
  for (let k = 0; k < samples.length; k += 1) {
    const from = centre - before + k;
    const value = impulse[((from % impulse.length) + impulse.length) % impulse.length]!;
    samples[k] = value * faded(k / (fadedShare * before)) * faded((samples.length - 1 - k) / (fadedShare * after));
    if (Math.abs(samples[k]!) > Math.abs(samples[strongest]!)) strongest = k;
  }
  return { samples, advanceSeconds: -(centre - before + strongest) / rateHz };
}

function faded(x: number): number {
  if (x >= 1) return 1;
  const root = sin((Math.PI / 2) * Math.max(0, x));
  return root * root;
}
