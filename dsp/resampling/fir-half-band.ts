// Doubling and halving the rate by a linear-phase half-band filter: only the taps that are not zero, mirrored taps as pairs.
import { SMALLEST_STATE } from './stage-runner.ts';
import type { StageRunner } from './stage-runner.ts';

/**
 * Doubles the rate. Of a filter of 4m + 3 taps with gain 2, even output frames are Σ 2h[2j] x[n − j]; odd ones are x[n − m], the
 * centre tap alone. Four frames are summed side by side; each sum runs over the pairs from the outermost inwards, so results do
 * not depend on the length of a block.
 */
export class FirInterpolator implements StageRunner {
  readonly input: Float64Array;
  readonly inputStart: number;
  private readonly taps: Float64Array;

  /** `sideTaps` as in HalfBandFir; `maxFrames` at the lower rate. */
  constructor(sideTaps: Float64Array, maxFrames: number) {
    this.taps = sideTaps.map((tap) => 2 * tap);
    this.inputStart = 2 * sideTaps.length - 1;
    this.input = new Float64Array(this.inputStart + maxFrames);
  }

  reset(): void {
    this.input.fill(0);
  }

  /** Audio thread: allocates nothing. */
  run(frames: number, output: Float64Array, outputOffset: number): void {
    const x = this.input;
    const taps = this.taps;
    const count = taps.length;
    const start = this.inputStart;
    let n = 0;
    let out = outputOffset;
    for (; n + 4 <= frames; n += 4, out += 8) {
      let newest = start + n;
      let oldest = n;
      let sum0 = 0;
      let sum1 = 0;
      let sum2 = 0;
      let sum3 = 0;
      for (let j = 0; j < count; j++, newest--, oldest++) {
        const tap = taps[j]!;
        sum0 += tap * (x[newest]! + x[oldest]!);
        sum1 += tap * (x[newest + 1]! + x[oldest + 1]!);
        sum2 += tap * (x[newest + 2]! + x[oldest + 2]!);
        sum3 += tap * (x[newest + 3]! + x[oldest + 3]!);
      }
      output[out] = Math.abs(sum0) < SMALLEST_STATE ? 0 : sum0;
      output[out + 1] = x[oldest]!;
      output[out + 2] = Math.abs(sum1) < SMALLEST_STATE ? 0 : sum1;
      output[out + 3] = x[oldest + 1]!;
      output[out + 4] = Math.abs(sum2) < SMALLEST_STATE ? 0 : sum2;
      output[out + 5] = x[oldest + 2]!;
      output[out + 6] = Math.abs(sum3) < SMALLEST_STATE ? 0 : sum3;
      output[out + 7] = x[oldest + 3]!;
    }
    for (; n < frames; n++, out += 2) {
      let newest = start + n;
      let oldest = n;
      let sum = 0;
      for (let j = 0; j < count; j++, newest--, oldest++) sum += taps[j]! * (x[newest]! + x[oldest]!);
      output[out] = Math.abs(sum) < SMALLEST_STATE ? 0 : sum;
      output[out + 1] = x[oldest]!;
    }
    x.copyWithin(0, frames, frames + start);
  }
}

/**
 * Halves the rate: y[n] = ½ v[2n − 2m − 1] + Σ h[2j] v[2n − 2j], frames outside the pass band kept out. Order of summation and
 * independence of the block length as in `FirInterpolator`. `delayFrames` (at the higher rate) is added at no cost.
 */
export class FirDecimator implements StageRunner {
  readonly input: Float64Array;
  readonly inputStart: number;
  private readonly taps: Float64Array;

  constructor(sideTaps: Float64Array, maxFrames: number, delayFrames: number) {
    this.taps = sideTaps.slice();
    this.inputStart = 4 * sideTaps.length - 2 + delayFrames;
    this.input = new Float64Array(this.inputStart + 2 * maxFrames);
  }

  reset(): void {
    this.input.fill(0);
  }

  /** Audio thread: allocates nothing. */
  run(frames: number, output: Float64Array, outputOffset: number): void {
    const v = this.input;
    const taps = this.taps;
    const count = taps.length;
    const span = 4 * count - 2;
    let n = 0;
    for (; n + 4 <= frames; n += 4) {
      let oldest = 2 * n;
      let newest = oldest + span;
      const centre = oldest + span / 2;
      let sum0 = 0.5 * v[centre]!;
      let sum1 = 0.5 * v[centre + 2]!;
      let sum2 = 0.5 * v[centre + 4]!;
      let sum3 = 0.5 * v[centre + 6]!;
      for (let j = 0; j < count; j++, newest -= 2, oldest += 2) {
        const tap = taps[j]!;
        sum0 += tap * (v[newest]! + v[oldest]!);
        sum1 += tap * (v[newest + 2]! + v[oldest + 2]!);
        sum2 += tap * (v[newest + 4]! + v[oldest + 4]!);
        sum3 += tap * (v[newest + 6]! + v[oldest + 6]!);
      }
      const out = outputOffset + n;
      output[out] = Math.abs(sum0) < SMALLEST_STATE ? 0 : sum0;
      output[out + 1] = Math.abs(sum1) < SMALLEST_STATE ? 0 : sum1;
      output[out + 2] = Math.abs(sum2) < SMALLEST_STATE ? 0 : sum2;
      output[out + 3] = Math.abs(sum3) < SMALLEST_STATE ? 0 : sum3;
    }
    for (; n < frames; n++) {
      let oldest = 2 * n;
      let newest = oldest + span;
      let sum = 0.5 * v[oldest + span / 2]!;
      for (let j = 0; j < count; j++, newest -= 2, oldest += 2) sum += taps[j]! * (v[newest]! + v[oldest]!);
      output[outputOffset + n] = Math.abs(sum) < SMALLEST_STATE ? 0 : sum;
    }
    v.copyWithin(0, 2 * frames, 2 * frames + this.inputStart);
  }
}
