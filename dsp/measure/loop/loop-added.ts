/** Figures of what a path adds to a loop: by bands, along the loop, its loudest moments. Off the audio thread. */
import type { PathPlan } from '../../path/index.ts';
import { bandsBelow, between, type Band } from '../spectrum.ts';
import { addedByPathInSteps, type LinearPart } from './added-by-path.ts';
import { slowPart } from './slow-part.ts';
import { made, meanSquareInSteps, shared } from './steps.ts';
import { welchInSteps, type WelchLines } from './welch.ts';

export interface LoopAddedRequest {
  readonly linearPart: LinearPart;
  readonly momentSeconds: number;
  readonly bands: 'third-octave' | 'octave';
}

/** Mean squares of samples in a band, over all channels; a sine of full scale has 1/2. */
export interface AddedBand extends Band {
  readonly dry: number;
  /** What comes out, less what is added. */
  readonly linear: number;
  readonly out: number;
  readonly added: number;
}

/** A stretch of the loop: mean squares. */
export interface AddedMoment {
  readonly fromSeconds: number;
  readonly toSeconds: number;
  readonly linear: number;
  /** The loudest `linear` of this moment and the two beside it: what is added is told re this, for a gain that moves in straight lines reaches from an attack into the quiet before it. */
  readonly around: number;
  /** Of what is added, that from 20 Hz up … */
  readonly added: number;
  /** … and that below: where a bias moves. */
  readonly slow: number;
}

export interface LoopAdded {
  readonly bands: readonly AddedBand[];
  /** Mean squares of everything; what is added below 20 Hz stands apart, in `slow`. */
  readonly total: { readonly dry: number; readonly linear: number; readonly out: number; readonly added: number; readonly slow: number };
  /** What is added at 0 Hz, samples, the channel with most of it. */
  readonly addedMean: number;
  /** Mean squares that other ways of telling what is linear leave. `bandFit`: a gain and phase of its own in every band beside small signals; `blindFit`: the same on the dry loop, without knowing the circuit. */
  readonly left: Readonly<Record<LinearPart | 'bandFit' | 'blindFit', number>>;
  readonly gain: number;
  readonly delaySeconds: number;
  readonly drift: number;
  readonly moments: readonly AddedMoment[];
  /** By channel, at knots spread evenly from the region's start; null where no moving gain was asked for. */
  readonly momentGains: readonly Float64Array[] | null;
}

/** Stretches looked at between two yields. */
const stepMoments = 16;

/** Yields the share done. Throws RangeError as `addedByPathInSteps`. Times are from the region's start. */
export function* loopAddedInSteps(plan: PathPlan, loop: readonly Float64Array[], request: LoopAddedRequest): Generator<number, LoopAdded> {
  const added = yield* shared(addedByPathInSteps(plan, loop, request), (done) => 0.9 * done);
  const frames = loop[0]!.length;
  const linear: Float64Array[] = [];
  const slow: Float64Array[] = [];
  const quick: Float64Array[] = [];
  const late = <Result>(steps: Generator<undefined, Result>): Generator<number, Result> => shared(steps, () => 0.95);
  for (let c = 0; c < loop.length; c += 1) {
    const [out, difference] = [added.out[c]!, added.channels[c]!];
    linear.push(yield* late(made(frames, (i) => out[i]! - difference[i]!)));
    const below = yield* late(slowPart(difference, plan.baseRateHz));
    slow.push(below);
    quick.push(yield* late(made(frames, (i) => difference[i]! - below[i]!)));
  }
  const lines = yield* late(welchInSteps([added.dry, linear, added.out, added.channels], plan.baseRateHz, [[1, 2], [0, 2]]));
  const total = {
    dry: yield* late(meanSquareInSteps(added.dry)), linear: yield* late(meanSquareInSteps(linear)), out: yield* late(meanSquareInSteps(added.out)),
    added: yield* late(meanSquareInSteps(quick)), slow: yield* late(meanSquareInSteps(slow)),
  };
  const moments: Omit<AddedMoment, 'around'>[] = [];
  for (const moment of momentsOf({ linear, added: quick, slow }, plan.baseRateHz, request.momentSeconds)) {
    moments.push(moment);
    if (moments.length % stepMoments === 0) yield 0.95;
  }
  yield 1;
  const addedMean = yield* late(largestMean(slow));
  const samples = loop.length * frames;
  return {
    bands: bandsOf(lines, plan.baseRateHz, request.bands),
    total, addedMean,
    left: {
      'small-signal': added.left['small-signal'] / samples, region: added.left.region / samples, moment: added.left.moment / samples,
      bandFit: leftByBands(lines, plan.baseRateHz, 1, 0), blindFit: leftByBands(lines, plan.baseRateHz, 0, 1),
    },
    gain: added.gain, delaySeconds: added.delaySeconds, drift: added.drift, moments: withNeighbours(moments), momentGains: added.momentGains,
  };
}

/** The loudest of what is added, at most `count`, none nearer than `apartSeconds` to a louder one. */
export function loudestMoments(moments: readonly AddedMoment[], count: number, apartSeconds: number): AddedMoment[] {
  const chosen: AddedMoment[] = [];
  for (const moment of [...moments].sort((a, b) => b.added - a.added || a.fromSeconds - b.fromSeconds)) {
    if (chosen.length === count) break;
    if (chosen.every(({ fromSeconds }) => Math.abs(fromSeconds - moment.fromSeconds) >= apartSeconds)) chosen.push(moment);
  }
  return chosen;
}

function bandsOf({ spacingHz, powers }: WelchLines, rateHz: number, width: LoopAddedRequest['bands']): AddedBand[] {
  const [dry, linear, out, added] = powers as [Float64Array, Float64Array, Float64Array, Float64Array];
  return bandsBelow(width, rateHz).map((band) => {
    const sum = (power: Float64Array): number => between(power, band.fromHz / spacingHz, band.toHz / spacingHz);
    return { ...band, dry: sum(dry), linear: sum(linear), out: sum(out), added: sum(added) };
  });
}

/** Least squares with one complex gain in every third octave, and in what lies beyond them on either side: the power it leaves. Coherence, band by band. */
function leftByBands({ spacingHz, powers, crosses }: WelchLines, rateHz: number, reference: number, pair: number): number {
  const thirds = bandsBelow('third-octave', rateHz);
  const edges = [0, ...thirds.map(({ fromHz }) => fromHz), ...thirds.slice(-1).map(({ toHz }) => toHz), rateHz / 2 + spacingHz];
  let left = 0;
  for (let k = 0; k + 1 < edges.length; k += 1) {
    // The line at 0 Hz ends half a line up, as every line does.
    const [from, to] = [k === 0 ? -0.5 : edges[k]! / spacingHz, edges[k + 1]! / spacingHz];
    const sum = (values: Float64Array): number => between(values, from, to);
    const [known, re, im] = [sum(powers[reference]!), sum(crosses[pair]!.re), sum(crosses[pair]!.im)];
    const explained = known > 0 ? (re * re + im * im) / known : 0;
    left += Math.max(0, sum(powers[2]!) - explained);
  }
  return left;
}

function* momentsOf(parts: Readonly<Record<'linear' | 'added' | 'slow', readonly Float64Array[]>>, rateHz: number, momentSeconds: number): Generator<Omit<AddedMoment, 'around'>> {
  const frames = parts.linear[0]!.length;
  const count = Math.max(1, Math.round(frames / (momentSeconds * rateHz)));
  for (let k = 0; k < count; k += 1) {
    const [from, to] = [Math.round((k * frames) / count), Math.round(((k + 1) * frames) / count)];
    const of = (channels: readonly Float64Array[]): number => meanSquare(channels, from, to);
    yield { fromSeconds: from / rateHz, toSeconds: to / rateHz, linear: of(parts.linear), added: of(parts.added), slow: of(parts.slow) };
  }
}

function withNeighbours(moments: readonly Omit<AddedMoment, 'around'>[]): AddedMoment[] {
  const linear = (index: number): number => moments[(index + moments.length) % moments.length]!.linear;
  return moments.map((moment, k) => ({ ...moment, around: Math.max(linear(k - 1), linear(k), linear(k + 1)) }));
}

function meanSquare(channels: readonly Float64Array[], from = 0, to = channels[0]!.length): number {
  let sum = 0;
  for (const channel of channels) for (let i = from; i < to; i += 1) sum += channel[i]! * channel[i]!;
  return sum / (channels.length * (to - from));
}

/** What is slow has all of the mean. */
function* largestMean(slow: readonly Float64Array[]): Generator<undefined, number> {
  let largest = 0;
  for (const channel of slow) {
    let sum = 0;
    for (let i = 0; i < channel.length; i += 1) sum += channel[i]!;
    if (Math.abs(sum) > Math.abs(largest * channel.length)) largest = sum / channel.length;
    yield undefined;
  }
  return largest;
}
