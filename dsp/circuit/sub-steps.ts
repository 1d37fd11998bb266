/**
 * What stands between a program's samples and the steps of its instances, as readable loops: sub-inputs, the combination of two runs, and the ideal gains round a circuit. `emit/block-code.ts`
 * is the same as compiled code, with the same bits. Everything here may be called from the audio callback: it allocates nothing, never throws, never waits.
 */
import { largestInput } from './solver.ts';

/** Inputs before the present one that a cubic needs. */
export const historyLength = 3;

/**
 * Weights of u[n], u[n−1], u[n−2], u[n−3] at n − 1 + k/R, k = 1 … R − 1, and their common scale: the cubic through the four (Lagrange), causal, so that it costs no latency. At k = R
 * it is u[n] itself. Weights and scale are exact.
 */
export const cubicWeights = {
  1: { scale: 1, rows: [] },
  2: { scale: 1 / 16, rows: [[5, 15, -5, 1]] },
  4: { scale: 1 / 128, rows: [[15, 135, -27, 5], [40, 120, -40, 8], [77, 77, -33, 7]] },
} as const;

/** Work on blocks. Arrays of the compiled back end lie in its memory. */
export interface BlockWork {
  /**
   * `subSteps` inputs for each of `frames` samples of `from`, from `fromAt` on, into `to` from its start. `history`: the three inputs before, the latest first; it stays as it is.
   */
  subInputs(from: Float64Array, fromAt: number, frames: number, subSteps: 2 | 4, history: Float64Array, to: Float64Array): void;
  /** (4 fine − coarse)/3 of the last of every `coarseSteps` and `fineSteps` outputs: the error in h² of the trapezoidal rule cancels (Richardson). */
  combine(coarse: Float64Array, coarseSteps: number, fine: Float64Array, fineSteps: number, frames: number, to: Float64Array, toAt: number): void;
  /** × gain in place. Gives how many are then NaN, infinite or beyond `largestInput`; they stay as they are. */
  scaleInput(samples: Float64Array, at: number, frames: number, gain: number): number;
  /** × gain in place; what is then NaN, infinite or beyond `largestInput` becomes 0. Gives the number of those. */
  cleanInput(samples: Float64Array, at: number, frames: number, gain: number): number;
  /** (y − rest) × gain in place, never −0. Gives the larger of `peak` and the largest magnitude; NaN is passed over. */
  finishOutput(samples: Float64Array, at: number, frames: number, rest: number, gain: number, peak: number): number;
}

export const blockLoops: BlockWork = {
  subInputs(from, fromAt, frames, subSteps, history, to) {
    if (subSteps === 2) twoInputs(from, fromAt, frames, history, to);
    else fourInputs(from, fromAt, frames, history, to);
  },

  combine(coarse, coarseSteps, fine, fineSteps, frames, to, toAt) {
    for (let n = 0; n < frames; n += 1) {
      to[toAt + n] = (4 * fine[fineSteps * n + fineSteps - 1]! - coarse[coarseSteps * n + coarseSteps - 1]!) / 3 + 0;
    }
  },

  scaleInput(samples, at, frames, gain) {
    let unsound = 0;
    for (let n = at; n < at + frames; n += 1) {
      const volts = samples[n]! * gain;
      samples[n] = volts;
      if (!(Math.abs(volts) <= largestInput)) unsound += 1;
    }
    return unsound;
  },

  cleanInput(samples, at, frames, gain) {
    let unsound = 0;
    for (let n = at; n < at + frames; n += 1) {
      const volts = samples[n]! * gain;
      const sound = Math.abs(volts) <= largestInput;
      if (!sound) unsound += 1;
      samples[n] = sound ? volts : 0;
    }
    return unsound;
  },

  finishOutput(samples, at, frames, rest, gain, peak) {
    let largest = peak;
    for (let n = at; n < at + frames; n += 1) {
      const volts = (samples[n]! - rest) * gain + 0;
      samples[n] = volts;
      const size = Math.abs(volts);
      if (size > largest) largest = size;
    }
    return largest;
  },
};

// By index: taking weights out of arrays by position would make an iterator a call.
function twoInputs(from: Float64Array, fromAt: number, frames: number, history: Float64Array, to: Float64Array): void {
  const { scale, rows } = cubicWeights[2];
  const { 0: a0, 1: a1, 2: a2, 3: a3 } = rows[0];
  let u1 = history[0]!;
  let u2 = history[1]!;
  let u3 = history[2]!;
  for (let n = 0, at = 0; n < frames; n += 1, at += 2) {
    const u0 = from[fromAt + n]!;
    to[at] = (a0 * u0 + a1 * u1 + a2 * u2 + a3 * u3) * scale;
    to[at + 1] = u0;
    u3 = u2;
    u2 = u1;
    u1 = u0;
  }
}

function fourInputs(from: Float64Array, fromAt: number, frames: number, history: Float64Array, to: Float64Array): void {
  const { scale, rows } = cubicWeights[4];
  const { 0: a0, 1: a1, 2: a2, 3: a3 } = rows[0];
  const { 0: b0, 1: b1, 2: b2, 3: b3 } = rows[1];
  const { 0: c0, 1: c1, 2: c2, 3: c3 } = rows[2];
  let u1 = history[0]!;
  let u2 = history[1]!;
  let u3 = history[2]!;
  for (let n = 0, at = 0; n < frames; n += 1, at += 4) {
    const u0 = from[fromAt + n]!;
    to[at] = (a0 * u0 + a1 * u1 + a2 * u2 + a3 * u3) * scale;
    to[at + 1] = (b0 * u0 + b1 * u1 + b2 * u2 + b3 * u3) * scale;
    to[at + 2] = (c0 * u0 + c1 * u1 + c2 * u2 + c3 * u3) * scale;
    to[at + 3] = u0;
    u3 = u2;
    u2 = u1;
    u1 = u0;
  }
}
