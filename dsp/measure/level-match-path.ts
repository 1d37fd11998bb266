import { LevelMatcher, type LevelMatchResult } from '../listening/index.ts';
import { PathRunner, planPath, planSides, type OnTrial, type PathSetting, type PlanOptions, type TrialSide } from '../path/index.ts';
import { DifferenceMeter, matchDifferences, type MatchDifferences } from './match-differences.ts';

/** The loop's end that is played into the path before its loudness counts: what is charged then is what a second pass finds charged. */
const warmUpSeconds = 3;
/**
 * Loudness is measured at no more than this factor, by the plainest rule. Measured beside 8 × and the rule that plays, whole path in less out: every stage alone, under 0.0015 dB with two tones over
 * noise or plucked notes, under 0.007 dB with white noise to half the rate; the ready path between two transformers with white noise 0.014 dB. It takes 0.37 of the time; 2 × takes 0.26
 * and misses five times as much.
 */
const matchFactor = 4;
const matchRule = 'T1';
const blockFrames = 256;

export interface MatchRequest {
  readonly path: PathSetting;
  /** Verdicts of the loading probe, as for `planPath`. */
  readonly joints?: PlanOptions['joints'];
  readonly baseRateHz: number;
  readonly onTrial: OnTrial;
  /** What stands in the place of `path` out of circuit, a whole path too, whatever `onTrial` says; absent: what `onTrial` leaves of it. */
  readonly against?: TrialSide;
  /** Samples of the loop region, ±1 full scale. */
  readonly channels: readonly Float64Array[];
}

/** A match, and what differs all the same. */
export type PathMatch = Exclude<LevelMatchResult, { readonly kind: 'matched' }> | (Extract<LevelMatchResult, { readonly kind: 'matched' }> & { readonly differences: MatchDifferences });

/**
 * Gains that make what is on trial equally loud in and out over the second pass of a loop region (K-weighted, gated: ITU-R BS.1770), and what differs under these gains. Yields the share
 * done after every 256 frames, so that a worker can let go. Throws PathError.
 */
export function* matchPathInSteps(request: MatchRequest): Generator<number, PathMatch> {
  const { path, joints = null, baseRateHz, onTrial, against, channels } = request;
  const options = { rule: matchRule } as const;
  const plan = against === undefined
    ? planPath(plainly(path), baseRateHz, { ...options, onTrial, joints })
    : planSides({ path: plainly(path), joints }, { ...against, path: plainly(against.path) }, baseRateHz, options);
  const matcher = new LevelMatcher(baseRateHz, channels.length, channels.length);
  const meters = { in: new DifferenceMeter(baseRateHz, channels.length, channels[0]!.length), out: new DifferenceMeter(baseRateHz, channels.length, channels[0]!.length) };
  // Out of the whole path without surroundings is the ladder alone, which needs no circuit solved; without it white noise would be 0.19 dB off, by what it has above 20 kHz.
  const isBare = against === undefined && onTrial.kind === 'path' && path.surroundings === null;
  const ways: readonly ('in' | 'out')[] = ['in', 'out'];
  for (const way of ways) {
    const runner = new PathRunner(way === 'out' && isBare ? planPath({ ...plainly(path), stages: [] }, baseRateHz, options) : plan, channels.length, blockFrames);
    yield* measureWay(runner, way, channels, baseRateHz, { matcher, differences: meters[way] }, way === 'in' ? 0 : 0.5);
  }
  const match = matcher.result();
  if (match.kind !== 'matched') return match;
  for (const meter of [meters.in, meters.out]) for (const _ of meter.finish()) yield 1;
  return { ...match, differences: matchDifferences(meters.in, meters.out, baseRateHz, match.inGainDb, match.outGainDb) };
}

/** At no more than four times the rate; noise is far below what counts, and its shapes would be fitted anew for these programs. */
function plainly(path: PathSetting): PathSetting {
  return { ...path, oversamplingFactor: path.oversamplingFactor > matchFactor ? matchFactor : path.oversamplingFactor, supply: null };
}

interface WayMeters {
  readonly matcher: LevelMatcher;
  readonly differences: DifferenceMeter;
}

function* measureWay(
  runner: PathRunner, way: 'in' | 'out', channels: readonly Float64Array[], rateHz: number, meters: WayMeters, doneBefore: number,
): Generator<number, void> {
  const frames = channels[0]!.length;
  runner.setTrialIn(way === 'in');
  runner.reset();
  const outputs = channels.map(() => new Float64Array(blockFrames));
  const warmUpFrames = Math.min(frames, Math.round(warmUpSeconds * rateHz));
  const total = warmUpFrames + frames;
  for (let at = -warmUpFrames; at < frames;) {
    const start = at < 0 ? frames + at : at;
    const count = Math.min(blockFrames, frames - start);
    const inputs = channels.map((channel) => channel.subarray(start, start + count));
    runner.process(inputs, outputs, count);
    if (at < 0) meters.matcher.warmUp(way, outputs, 0, count);
    else {
      meters.matcher.measure(way, outputs, 0, count);
      meters.differences.push(outputs, 0, count);
    }
    at += count;
    yield doneBefore + (0.5 * (at + warmUpFrames)) / total;
  }
}
