import { LevelMatcher, type LevelMatchResult } from '../../listening/index.ts';
import { decibelsToRatio, ratioToDecibels } from '../../math/index.ts';
import type { PathPlan } from '../../path/index.ts';
import { playRound, roundFrames } from './play-round.ts';
import { shared } from './steps.ts';

/** Frames that a loudness meter takes between two yields. */
const meteredFrames = 4096;

export interface BothWays {
  readonly kind: 'played';
  /** One array a channel, as long as the loop: the same frame of both is the same moment, with gains and trim applied. */
  readonly in: readonly Float64Array[];
  readonly out: readonly Float64Array[];
  /** Of what stands in the two, as it goes round; before the trim. */
  readonly match: Extract<LevelMatchResult, { readonly kind: 'matched' }>;
  /** At most 0: both are turned down by it where one would go beyond full scale. */
  readonly trimDb: number;
  /** The larger of both: how much the end of a pass differs from that of the one before, a ratio of r.m.s. */
  readonly drift: number;
}

/**
 * What is on trial, heard both ways over one round of a loop, ready to be switched between: by the real path with its latency taken out, of one polarity (the path itself turns the dry signal where
 * what is on trial inverts), settled, going round without a break, and equally loud (gated K-weighted loudness, ITU-R BS.1770, of these very samples). Yields the share done, 0–1. Off the audio thread.
 */
export function* playBothWays(plan: PathPlan, loop: readonly Float64Array[]): Generator<number, BothWays | Extract<LevelMatchResult, { readonly kind: 'cannot-match' }>> {
  const frames = roundFrames(plan.baseRateHz, loop[0]!.length);
  const played = yield* shared(playRound(plan, loop), (done) => (0.48 * done) / frames);
  const without = yield* shared(playRound(plan, loop, { trialIn: false }), (done) => 0.48 + (0.48 * done) / frames);
  const matcher = new LevelMatcher(plan.baseRateHz, loop.length, loop.length);
  yield* meter(matcher, 'in', played.channels, 0.96);
  yield* meter(matcher, 'out', without.channels, 0.98);
  const match = matcher.result();
  if (match.kind === 'cannot-match') return match;
  const inGain = decibelsToRatio(match.inGainDb);
  const outGain = decibelsToRatio(match.outGainDb);
  const peak = Math.max(inGain * peakOf(played.channels), outGain * peakOf(without.channels));
  const trim = peak > fullestPeak ? fullestPeak / peak : 1;
  return {
    kind: 'played', match, trimDb: trim === 1 ? 0 : ratioToDecibels(trim), drift: Math.max(played.drift, without.drift),
    in: played.channels.map((channel) => channel.map((sample) => trim * inGain * sample)),
    out: without.channels.map((channel) => channel.map((sample) => trim * outGain * sample)),
  };
}

/** What every sample format holds. */
const fullestPeak = 1 - 1 / 32_768;

function* meter(matcher: LevelMatcher, way: 'in' | 'out', channels: readonly Float64Array[], done: number): Generator<number, void> {
  const frames = channels[0]!.length;
  for (const part of ['warmUp', 'measure'] as const) {
    for (let at = 0; at < frames; at += meteredFrames) {
      matcher[part](way, channels, at, Math.min(meteredFrames, frames - at));
      yield done;
    }
  }
}

function peakOf(channels: readonly Float64Array[]): number {
  let peak = 0;
  for (const channel of channels) for (const sample of channel) peak = Math.max(peak, Math.abs(sample));
  return peak;
}
