/** Least squares of what a path gave on what its linear part gives: one gain and delay over a loop, or a gain that moves along it. Loops go round. Off the audio thread. */

/** Samples looked at between two yields. */
const stepSamples = 16_384;
/** Central difference of eighth order: weights of the samples 1 to 4 away (B. Fornberg, "Generation of finite difference formulas on arbitrarily spaced grids", Math. Comp. 51, 1988, from memory). */
const differenceWeights = [4 / 5, -1 / 5, 4 / 105, -1 / 280] as const;
/** Energy beside the loudest stretch's under which a moment has no say of its own and keeps the gain of small signals. */
const leastShare = 1e-8;

export interface GainAndDelay {
  /** Ratio. */
  readonly gain: number;
  /** By which the output is later than the linear part, samples; far below one. */
  readonly delaySamples: number;
}

/** Slope of a loop that goes round, per sample. */
export function slopeAt(loop: Float64Array, index: number): number {
  const frames = loop.length;
  let slope = 0;
  for (let k = 0; k < differenceWeights.length; k += 1) {
    const after = index + k + 1;
    const before = index - k - 1;
    const [next, last] = before >= 0 && after < frames ? [after, before] : [after % frames, ((before % frames) + frames) % frames];
    slope += differenceWeights[k]! * (loop[next]! - loop[last]!);
  }
  return slope;
}

/** `output` ≈ g (linear − d linear′): the g and d that leave the least over all channels. Yields between stretches. */
export function* fitGainAndDelay(linear: readonly Float64Array[], output: readonly Float64Array[]): Generator<undefined, GainAndDelay> {
  let [xx, xd, dd, xy, dy] = [0, 0, 0, 0, 0];
  for (let channel = 0; channel < linear.length; channel += 1) {
    const [x, y] = [linear[channel]!, output[channel]!];
    for (let i = 0; i < x.length; i += 1) {
      const slope = slopeAt(x, i);
      xx += x[i]! * x[i]!;
      xd += x[i]! * slope;
      dd += slope * slope;
      xy += x[i]! * y[i]!;
      dy += slope * y[i]!;
      if (i % stepSamples === 0) yield undefined;
    }
  }
  if (xx === 0) return { gain: 1, delaySamples: 0 };
  const determinant = xx * dd - xd * xd;
  if (!(determinant > 1e-12 * xx * dd)) return { gain: xy / xx, delaySamples: 0 };
  const gain = (dd * xy - xd * dy) / determinant;
  const slopeGain = (xx * dy - xd * xy) / determinant;
  return gain === 0 ? { gain: 1, delaySamples: 0 } : { gain, delaySamples: -slopeGain / gain };
}

/** The linear part late by a small share of a sample. */
export function* delayed(loop: Float64Array, delaySamples: number): Generator<undefined, Float64Array> {
  const late = new Float64Array(loop.length);
  for (let i = 0; i < late.length; i += 1) {
    late[i] = loop[i]! - delaySamples * slopeAt(loop, i);
    if (i % stepSamples === 0) yield undefined;
  }
  return late;
}

/**
 * Gains at `count` knots spread evenly round a loop, straight lines between them, that leave the least of output − g(t) linear. A moment with next to nothing in it keeps 1. Fewer than three
 * knots are one gain. Throws RangeError for none.
 */
export function* fitMovingGain(linear: Float64Array, output: Float64Array, count: number): Generator<undefined, Float64Array> {
  if (!(count >= 1)) throw new RangeError(`moving gain: expected at least one knot, got ${count}`);
  const knots = count < 3 ? 1 : count;
  const [own, beside, side] = [new Float64Array(knots), new Float64Array(knots), new Float64Array(knots)];
  for (let i = 0; i < linear.length; i += 1) {
    const { before, after, share } = placeOf(i, linear.length, knots);
    const [x, rest] = [linear[i]!, output[i]! - linear[i]!];
    const square = x * x;
    own[before] = own[before]! + (1 - share) * (1 - share) * square;
    own[after] = own[after]! + share * share * square;
    // One knot is beside itself.
    if (knots === 1) own[0] = own[0]! + 2 * share * (1 - share) * square;
    else beside[before] = beside[before]! + share * (1 - share) * square;
    side[before] = side[before]! + (1 - share) * x * rest;
    side[after] = side[after]! + share * x * rest;
    if (i % stepSamples === 0) yield undefined;
  }
  let most = 0;
  for (const energy of own) most = Math.max(most, energy);
  if (most === 0) return own.fill(1);
  for (let k = 0; k < knots; k += 1) own[k] = own[k]! + leastShare * most;
  const change = knots === 1 ? side.map((value) => value / own[0]!) : solveRound(own, beside, side);
  return change.map((value) => 1 + value);
}

/** The gain at a sample, between the knots on both sides of it. */
export function gainAt(knots: Float64Array, index: number, frames: number): number {
  const { before, after, share } = placeOf(index, frames, knots.length);
  return (1 - share) * knots[before]! + share * knots[after]!;
}

function placeOf(index: number, frames: number, knots: number): { readonly before: number; readonly after: number; readonly share: number } {
  const place = (index * knots) / frames;
  const before = Math.floor(place);
  return { before, after: before + 1 === knots ? 0 : before + 1, share: place - before };
}

/**
 * Symmetric equations of neighbours round a ring: own[k] x[k] + beside[k] x[k + 1] + beside[k − 1] x[k − 1] = side[k], by elimination along the ring and a rank-one correction for its
 * closing (J. Sherman, W. J. Morrison 1950; from memory). Positive definite, at least three unknowns.
 */
function solveRound(own: Float64Array, beside: Float64Array, side: Float64Array): Float64Array {
  const last = own.length - 1;
  const closing = beside[last]!;
  const lead = -own[0]!;
  const opened = own.slice();
  opened[0] = own[0]! - lead;
  opened[last] = own[last]! - (closing * closing) / lead;
  const first = solveAlong(opened, beside, side);
  const edge = new Float64Array(own.length);
  edge[0] = lead;
  edge[last] = closing;
  const correction = solveAlong(opened, beside, edge);
  const factor = (first[0]! + (closing * first[last]!) / lead) / (1 + correction[0]! + (closing * correction[last]!) / lead);
  return first.map((value, k) => value - factor * correction[k]!);
}

function solveAlong(own: Float64Array, beside: Float64Array, side: Float64Array): Float64Array {
  const count = own.length;
  const ratio = new Float64Array(count);
  const x = new Float64Array(count);
  let pivot = own[0]!;
  x[0] = side[0]! / pivot;
  for (let k = 1; k < count; k += 1) {
    ratio[k] = beside[k - 1]! / pivot;
    pivot = own[k]! - beside[k - 1]! * ratio[k]!;
    x[k] = (side[k]! - beside[k - 1]! * x[k - 1]!) / pivot;
  }
  for (let k = count - 2; k >= 0; k -= 1) x[k] = x[k]! - ratio[k + 1]! * x[k + 1]!;
  return x;
}
