// The ladder's work as readable loops: reference of the compiled one, and what runs where there is none.
import type { AllPassPair, DelayLine, LadderWork } from './ladder-work.ts';
import { SMALLEST_STATE } from './stage-runner.ts';

const masked = (value: number): number => (Math.abs(value) < SMALLEST_STATE ? 0 : value);

export const ladderLoops: LadderWork = { takeIn, split, interpolate, decimate, double, halve, allPass, delay };

function takeIn(from: Float64Array, fromAt: number, to: Float64Array, toAt: number, frames: number): void {
  for (let i = 0; i < frames; i++) to[toAt + i] = masked(from[fromAt + i]!);
}

function split(from: Float64Array, frames: number, even: Float64Array, evenAt: number, odd: Float64Array, oddAt: number): void {
  for (let n = 0; n < frames; n++) {
    even[evenAt + n] = from[2 * n]!;
    odd[oddAt + n] = from[2 * n + 1]!;
  }
}

/** Four frames are summed side by side; each sum runs over the pairs from the outermost inwards, so results do not depend on the length of a block. */
function interpolate(x: Float64Array, start: number, taps: Float64Array, frames: number, output: Float64Array, outputAt: number): void {
  const count = taps.length;
  let n = 0;
  let out = outputAt;
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
    output[out] = masked(sum0);
    output[out + 1] = x[oldest]!;
    output[out + 2] = masked(sum1);
    output[out + 3] = x[oldest + 1]!;
    output[out + 4] = masked(sum2);
    output[out + 5] = x[oldest + 2]!;
    output[out + 6] = masked(sum3);
    output[out + 7] = x[oldest + 3]!;
  }
  for (; n < frames; n++, out += 2) {
    let newest = start + n;
    let oldest = n;
    let sum = 0;
    for (let j = 0; j < count; j++, newest--, oldest++) sum += taps[j]! * (x[newest]! + x[oldest]!);
    output[out] = masked(sum);
    output[out + 1] = x[oldest]!;
  }
}

/** Order of summation and independence of the block length as in `interpolate`. */
function decimate(even: Float64Array, odd: Float64Array, taps: Float64Array, frames: number, output: Float64Array, outputAt: number): void {
  const count = taps.length;
  let n = 0;
  for (; n + 4 <= frames; n += 4) {
    let oldest = n;
    let newest = n + 2 * count - 1;
    const centre = n + count - 1;
    let sum0 = 0.5 * odd[centre]!;
    let sum1 = 0.5 * odd[centre + 1]!;
    let sum2 = 0.5 * odd[centre + 2]!;
    let sum3 = 0.5 * odd[centre + 3]!;
    for (let j = 0; j < count; j++, newest--, oldest++) {
      const tap = taps[j]!;
      sum0 += tap * (even[newest]! + even[oldest]!);
      sum1 += tap * (even[newest + 1]! + even[oldest + 1]!);
      sum2 += tap * (even[newest + 2]! + even[oldest + 2]!);
      sum3 += tap * (even[newest + 3]! + even[oldest + 3]!);
    }
    const out = outputAt + n;
    output[out] = masked(sum0);
    output[out + 1] = masked(sum1);
    output[out + 2] = masked(sum2);
    output[out + 3] = masked(sum3);
  }
  for (; n < frames; n++) {
    let oldest = n;
    let newest = n + 2 * count - 1;
    let sum = 0.5 * odd[n + count - 1]!;
    for (let j = 0; j < count; j++, newest--, oldest++) sum += taps[j]! * (even[newest]! + even[oldest]!);
    output[outputAt + n] = masked(sum);
  }
}

function double(from: Float64Array, frames: number, output: Float64Array, outputAt: number): void {
  for (let n = 0; n < frames; n++) {
    output[outputAt + 2 * n] = from[n]!;
    output[outputAt + 2 * n + 1] = from[n]!;
  }
}

function halve(pairs: Float64Array, frames: number, output: Float64Array, outputAt: number): void {
  for (let n = 0; n < frames; n++) {
    const sum = pairs[2 * n + 1]! + pairs[2 * n]!;
    output[outputAt + n] = Math.abs(sum) < SMALLEST_STATE ? 0 : 0.5 * sum;
  }
}

/** Two sections at a time over the block: their states then stay in registers, and the only chain of dependent operations is one product and one difference a frame. */
function allPass(pair: AllPassPair, samples: Float64Array, at: number, frames: number): void {
  for (let lane = 0; lane < 2; lane++) {
    const count = pair.counts[lane]!;
    let section = 0;
    for (; section + 2 <= count; section += 2) twoSections(pair, lane, section, samples, at + lane, frames);
    if (section < count) oneSection(pair, lane, section, samples, at + lane, frames);
  }
}

function twoSections({ coefficients, states }: AllPassPair, lane: number, section: number, samples: Float64Array, at: number, frames: number): void {
  const a = coefficients[2 * section + lane]!;
  const b = coefficients[2 * section + 2 + lane]!;
  const stateA = 4 * section + lane;
  const stateB = stateA + 4;
  let inputA = states[stateA]!;
  let outputA = states[stateA + 2]!;
  let inputB = states[stateB]!;
  let outputB = states[stateB + 2]!;
  for (let i = at; i < at + 2 * frames; i += 2) {
    const x = samples[i]!;
    const y = a * x + inputA - a * outputA;
    inputA = x;
    outputA = masked(y);
    const z = b * outputA + inputB - b * outputB;
    inputB = outputA;
    outputB = masked(z);
    samples[i] = outputB;
  }
  states[stateA] = inputA;
  states[stateA + 2] = outputA;
  states[stateB] = inputB;
  states[stateB + 2] = outputB;
}

function oneSection({ coefficients, states }: AllPassPair, lane: number, section: number, samples: Float64Array, at: number, frames: number): void {
  const a = coefficients[2 * section + lane]!;
  const state = 4 * section + lane;
  let input = states[state]!;
  let output = states[state + 2]!;
  for (let i = at; i < at + 2 * frames; i += 2) {
    const x = samples[i]!;
    const y = a * x + input - a * output;
    input = x;
    output = masked(y);
    samples[i] = output;
  }
  states[state] = input;
  states[state + 2] = output;
}

function delay(line: DelayLine, samples: Float64Array, at: number, frames: number): void {
  const a = line[0]!;
  let input = line[1]!;
  let output = line[2]!;
  for (let i = at; i < at + frames; i++) {
    const x = samples[i]!;
    const y = a * (x - output) + input;
    input = x;
    output = masked(y);
    samples[i] = output;
  }
  line[1] = input;
  line[2] = output;
}
