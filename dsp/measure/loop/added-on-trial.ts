/** What the thing on trial adds to a loop, to be heard alone. Off the audio thread. */
import { isPairPlan, type MatchGains, type PathPlan, type PlannedStage, type TrialPlan } from '../../path/index.ts';
import { partedInSteps, quiet, requireMusic, requireRest } from './added-by-path.ts';
import { slowPart } from './slow-part.ts';
import { made, shared } from './steps.ts';

/** Between two knots of the moving gain, as the figure of what is added to a loop has it. */
const momentSeconds = 0.03;

/** Samples, one array a channel, in time with the loop. */
export interface AddedOnTrial {
  /** What is added, from 20 Hz up. */
  readonly channels: readonly Float64Array[];
  /** What counts as linear, and below 20 Hz a bias that moves: with `channels` it is what is heard in less what is heard out (of the whole path: what is heard in). */
  readonly linear: readonly Float64Array[];
  /** What is heard with the thing on trial in. */
  readonly heard: readonly Float64Array[];
  /** The larger of both sides: how far it is from repeating itself, a ratio of r.m.s. */
  readonly drift: number;
}

/**
 * What is added with it, less what is added without it, each side with its gain of the match. Of the whole path: what it adds, since its dry signal adds nothing. Of a stage: what the path adds
 * with it, less what it adds wired through in its place, so also what the stages behind it make of its being there. Of a mechanism: what is lost with it. Of a pair: what the first adds less what
 * the second adds. What a side adds is its output less its own small signals, with a gain that moves along the loop (`addedByPathInSteps`, 'moment'). Yields the share done. Throws RangeError
 * where there is no music or no rest.
 */
export function* addedOnTrialInSteps(plan: TrialPlan, loop: readonly Float64Array[], { inGain, outGain }: MatchGains): Generator<number, AddedOnTrial> {
  yield* requireMusic(loop);
  const { inside, outside } = sidesOf(plan);
  yield* requireRest(inside);
  if (outside) yield* requireRest(outside.path);
  const share = outside ? 0.48 : 0.96;
  const first = yield* shared(partedInSteps(inside, loop, { linearPart: 'moment', momentSeconds }), (done) => share * done);
  const second = outside && (yield* shared(partedInSteps(outside.path, outside.turnedLoop ? loop.map(turned) : loop, { linearPart: 'moment', momentSeconds }), (done) => share + share * done));
  const outWeight = outside ? outside.sign * outGain : 0;
  const result = { channels: [] as Float64Array[], linear: [] as Float64Array[], heard: [] as Float64Array[] };
  const late = <Result>(steps: Generator<undefined, Result>): Generator<number, Result> => shared(steps, () => 0.96);
  for (const [channel, added] of first.channels.entries()) {
    const out = first.out[channel]!;
    const [otherAdded, otherOut] = second ? [second.channels[channel]!, second.out[channel]!] : [added, out];
    const whole = yield* late(made(added.length, (i) => inGain * added[i]! - outWeight * otherAdded[i]!));
    const slow = yield* late(slowPart(whole, inside.baseRateHz));
    const quick = yield* late(made(added.length, (i) => whole[i]! - slow[i]!));
    result.channels.push(quick);
    result.linear.push(yield* late(made(added.length, (i) => inGain * out[i]! - outWeight * otherOut[i]! - quick[i]!)));
    result.heard.push(yield* late(made(added.length, (i) => inGain * out[i]!)));
  }
  return { ...result, drift: Math.max(first.drift, second?.drift ?? 0) };
}

interface Sides {
  readonly inside: PathPlan;
  /** Null: the dry signal. */
  readonly outside: { readonly path: PathPlan; readonly sign: 1 | -1; readonly turnedLoop: boolean } | null;
}

/** Both sides of a trial as paths of their own. */
function sidesOf(plan: TrialPlan): Sides {
  if (isPairPlan(plan)) return { inside: quiet(plan.in), outside: { path: quiet(plan.out), sign: plan.trialPolarity, turnedLoop: false } };
  const { trial, stages } = plan;
  const inside = quiet(plan);
  if (trial === null) return { inside, outside: null };
  const { first, end, without } = trial;
  // What goes into the fork is turned by what stands before it; where nothing does, the loop is.
  const before = stages.slice(0, first).map((stage, k) => (trial.turned && k === first - 1 ? { ...stage, reversed: !stage.reversed } : stage));
  const path = quiet({ ...plan, stages: [...before, ...without, ...stages.slice(end)] satisfies PlannedStage[] });
  return { inside, outside: { path, sign: 1, turnedLoop: trial.turned && first === 0 } };
}

function turned(channel: Float64Array): Float64Array {
  return channel.map((sample) => -sample);
}
