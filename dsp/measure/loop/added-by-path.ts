/** What a path adds to a loop that is no linear filtering of it. Off the audio thread. */
import { growthAtRest } from '../../circuit/index.ts';
import type { PathPlan } from '../../path/index.ts';
import { delayed, fitGainAndDelay, fitMovingGain, gainAt } from './linear-fit.ts';
import { playRound, roundFrames } from './play-round.ts';
import { smallSignalRound } from './small-signal-round.ts';
import { shared } from './steps.ts';

/**
 * What counts as linear. All begin with the path's own small-signal response. 'small-signal': that alone, so that every change of gain with level is something added. 'region': with one gain and
 * delay, fitted over the whole region. 'moment': with that delay and a gain that moves along the loop, so that what is left is new in the music and not merely louder or softer.
 */
export type LinearPart = 'small-signal' | 'region' | 'moment';

export interface AddedOptions {
  readonly linearPart: LinearPart;
  /** Between two knots of the moving gain. */
  readonly momentSeconds: number;
}

/** Samples, one array a channel, in time with the loop. */
export interface AddedByPath {
  /** What is added: `out` less what counts as linear. */
  readonly channels: readonly Float64Array[];
  /** Gain and delay fitted over the region, beside small signals; of 'small-signal' 1 and 0. */
  readonly gain: number;
  readonly delaySeconds: number;
  /** By channel: gains at knots spread evenly round the loop, straight lines between them; null unless 'moment' was asked for. */
  readonly momentGains: readonly Float64Array[] | null;
  /** The loop through the ladder alone. */
  readonly dry: readonly Float64Array[];
  /** The path at small signals, as loud as the loop is. */
  readonly smallSignal: readonly Float64Array[];
  readonly out: readonly Float64Array[];
  /** Sum of squares that each way of telling what is linear leaves, over all channels. */
  readonly left: Readonly<Record<LinearPart, number>>;
  /** How far the path is from repeating itself, a ratio of r.m.s. */
  readonly drift: number;
}

/** `addedByPathInSteps` at once. */
export function addedByPath(plan: PathPlan, loop: readonly Float64Array[], options: AddedOptions): AddedByPath {
  const steps = addedByPathInSteps(plan, loop, options);
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

/**
 * What a path adds to a loop that goes round, settled, without noise and hum: output less linear part. Every circuit's rest must be stable. Yields the share done, at least every few
 * milliseconds. Throws RangeError where there is no music or no rest.
 */
export function* addedByPathInSteps(plan: PathPlan, loop: readonly Float64Array[], options: AddedOptions): Generator<number, AddedByPath> {
  yield* requireMusic(loop);
  const path = quiet(plan);
  yield* requireRest(path);
  const rounds = 1 / (1 + partedRounds(loop));
  const frames = roundFrames(plan.baseRateHz, loop[0]!.length);
  const dry = yield* shared(playRound({ ...path, stages: [] }, loop), (done) => (rounds * done) / frames);
  return { dry: dry.channels, ...yield* shared(partedInSteps(path, loop, options), (done) => rounds + (1 - rounds) * done) };
}

/** What a path makes of a loop, in two parts. */
export type PartedLoop = Omit<AddedByPath, 'dry'>;

/** Rounds of the path that `partedInSteps` takes for such a loop. */
export function partedRounds(loop: readonly Float64Array[]): number {
  return 1 + loop.length;
}

/** The two parts of what a path that is `quiet` and at rest makes of a loop with music in it. Yields the share done. */
export function* partedInSteps(path: PathPlan, loop: readonly Float64Array[], { linearPart, momentSeconds }: AddedOptions): Generator<number, PartedLoop> {
  const frames = loop[0]!.length;
  const rounds = partedRounds(loop);
  const total = rounds * roundFrames(path.baseRateHz, frames);
  const fitShare = 0.05;
  const played = yield* shared(playRound(path, loop), (done) => ((1 - fitShare) * done) / total);
  let [counted, last] = [total / rounds, 0];
  const smallSignal = yield* shared(smallSignalRound(path, loop), (done) => {
    // The next channel's round begins at 0 again.
    if (done < last) counted += total / rounds;
    last = done;
    return ((1 - fitShare) * Math.min(total, counted + done)) / total;
  });
  const fits = fitted(smallSignal, played.channels, Math.max(1, Math.round(frames / (momentSeconds * path.baseRateHz))));
  const { gain, delaySamples, late, moments } = yield* shared(fits, () => 1 - fitShare);
  const added = played.channels.map(() => new Float64Array(frames));
  const left = { 'small-signal': 0, region: 0, moment: 0 };
  for (let channel = 0; channel < added.length; channel += 1) {
    const [y, small, delayedPart, knots, target] = [played.channels[channel]!, smallSignal[channel]!, late[channel]!, moments[channel]!, added[channel]!];
    for (let i = 0; i < frames; i += 1) {
      const plain = y[i]! - small[i]!;
      const region = y[i]! - gain * delayedPart[i]!;
      const moment = y[i]! - gainAt(knots, i, frames) * delayedPart[i]!;
      left['small-signal'] += plain * plain;
      left.region += region * region;
      left.moment += moment * moment;
      target[i] = linearPart === 'moment' ? moment : linearPart === 'region' ? region : plain;
      if (i % 16_384 === 0) yield 1 - fitShare;
    }
  }
  const plain = linearPart === 'small-signal';
  return {
    channels: added, gain: plain ? 1 : gain, delaySeconds: plain ? 0 : delaySamples / path.baseRateHz, momentGains: linearPart === 'moment' ? moments : null,
    smallSignal, out: played.channels, left, drift: played.drift,
  };
}

function* fitted(smallSignal: readonly Float64Array[], out: readonly Float64Array[], knots: number): Generator<undefined, {
  readonly gain: number; readonly delaySamples: number; readonly late: readonly Float64Array[]; readonly moments: readonly Float64Array[];
}> {
  const { gain, delaySamples } = yield* fitGainAndDelay(smallSignal, out);
  const late: Float64Array[] = [];
  const moments: Float64Array[] = [];
  for (let channel = 0; channel < out.length; channel += 1) {
    late.push(yield* delayed(smallSignal[channel]!, delaySamples));
    moments.push(yield* fitMovingGain(late[channel]!, out[channel]!, knots));
  }
  return { gain, delaySamples, late, moments };
}

/** Only what the loop itself makes the path do. */
export function quiet(plan: PathPlan): PathPlan {
  const stages = plan.stages.map((stage) => {
    const silent = { ...stage };
    delete silent.noise;
    return silent;
  });
  return { ...plan, stages, onTrial: { kind: 'path' }, trial: null, direct: null, hum: null, trialPolarity: 1 };
}

export function* requireMusic(loop: readonly Float64Array[]): Generator<number, void> {
  let [alternating, frames] = [0, 0];
  for (const channel of loop) {
    let [sum, squares] = [0, 0];
    for (let i = 0; i < channel.length; i += 1) {
      const sample = channel[i]!;
      if (!(sample - sample === 0)) throw new RangeError('the loop: expected numbers, got a sample that is none');
      sum += sample;
      squares += sample * sample;
      if (i % 16_384 === 0) yield 0;
    }
    frames += channel.length;
    alternating += Math.max(0, squares - (sum * sum) / channel.length);
  }
  if (frames === 0) throw new RangeError('the loop: expected music, got no samples');
  // −120 dBFS.
  if (alternating / frames < 0.5e-12) throw new RangeError('the loop: expected music above −120 dBFS, got silence or a direct voltage alone');
}

export function* requireRest(plan: PathPlan): Generator<number, void> {
  const growing = growingStage(plan);
  if (growing !== null) throw new RangeError(`${growing.key}: expected a circuit that stays at rest, got one whose fastest part grows ${growing.radius} times a sample`);
  yield 0;
}

/** The first that does not stay at rest when left alone: it oscillates or is bistable. Null: all do. `radius`: by which its fastest part grows in a sample. */
export function growingStage(plan: PathPlan): { readonly key: string; readonly radius: number } | null {
  for (const { key, wired: { program } } of plan.stages) {
    const radius = program.kind === 'circuit' ? growthAtRest(program.circuit, 1) : 1;
    if (radius > 1) return { key, radius };
  }
  return null;
}
