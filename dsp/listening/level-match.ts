import { decibelsToRatio } from '../math/index.ts';
import { LoudnessMeter } from './loudness.ts';

/**
 * Two ways of hearing the same music (in circuit, out of circuit) made equally loud by a static gain on the louder one. Neither gain is ever
 * above 0 dB, so a switch never jumps up and nothing is driven nearer to full scale than it was.
 */
export type LevelMatchResult =
  | {
    readonly kind: 'matched';
    readonly inGainDb: number;
    readonly outGainDb: number;
    /** Loudness in circuit less loudness out of circuit, measured again with the gains applied. */
    readonly residualDb: number;
    readonly inLufs: number;
    readonly outLufs: number;
  }
  | { readonly kind: 'cannot-match'; readonly reason: CannotMatchReason; readonly sentence: string };

export type CannotMatchReason = 'region-too-short' | 'in-not-finite' | 'out-not-finite' | 'in-silent' | 'out-silent' | 'too-far-apart';

/** Beyond this the quieter one is as good as lost, and turning the louder one down to it would hide that. Our own choice. */
export const largestMatchGainDb = 40;

/** What a match aims at: the tolerance in common use for listening comparisons (D. Clark, 1982, quoted in secondary sources). */
export const largestResidualDb = 0.1;

/** Beside 1e-4 LU nothing of a residual is left to hear or to print. */
const goodEnoughDb = 1e-4;

/**
 * Measures both ways over the second pass of a loop region and finds the gains. Feed the first pass (`warmUp`: filters settle, nothing counts),
 * then the second (`measure`), each in pieces of any size; in and out may come by turns or one after the other. Then `result`.
 */
export class LevelMatcher {
  private readonly inMeter: LoudnessMeter;
  private readonly outMeter: LoudnessMeter;

  /** Channel counts may differ (mono in, stereo out). */
  constructor(rateHz: number, inChannelCount: number, outChannelCount: number) {
    this.inMeter = new LoudnessMeter(rateHz, inChannelCount);
    this.outMeter = new LoudnessMeter(rateHz, outChannelCount);
  }

  /** First pass of one way. All of it must come before the first `measure` of that way. */
  warmUp(way: 'in' | 'out', channels: readonly Float64Array[], start: number, frames: number): void {
    const meter = this.meterOf(way);
    meter.push(channels, start, frames);
    meter.restart();
  }

  /** Second pass of one way. */
  measure(way: 'in' | 'out', channels: readonly Float64Array[], start: number, frames: number): void {
    this.meterOf(way).push(channels, start, frames);
  }

  result(): LevelMatchResult {
    const { inMeter, outMeter } = this;
    if (inMeter.blockCount === 0 || outMeter.blockCount === 0) {
      return cannot('region-too-short', 'The loop region is too short to match: it needs 0.4 s or more.');
    }
    const inLufs = inMeter.integratedLufs();
    const outLufs = outMeter.integratedLufs();
    if (!(inLufs < Infinity)) return cannot('in-not-finite', 'In circuit the sound is not finite, so its loudness cannot be measured.');
    if (!(outLufs < Infinity)) return cannot('out-not-finite', 'Out of circuit the sound is not finite, so its loudness cannot be measured.');
    if (inLufs === -Infinity) return cannot('in-silent', 'In circuit the loop region is silent: below −70 LUFS throughout.');
    if (outLufs === -Infinity) return cannot('out-silent', 'Out of circuit the loop region is silent: below −70 LUFS throughout.');
    const apartDb = inLufs - outLufs;
    if (!(Math.abs(apartDb) <= largestMatchGainDb)) {
      return cannot('too-far-apart', `In and out of circuit are ${Math.round(Math.abs(apartDb))} dB apart, more than the ${largestMatchGainDb} dB a match may turn down.`);
    }
    return matchedBy(inMeter, outMeter, inLufs, outLufs);
  }

  private meterOf(way: 'in' | 'out'): LoudnessMeter {
    return way === 'in' ? this.inMeter : this.outMeter;
  }
}

/**
 * Loudness follows a gain exactly, except where the gain carries quiet blocks through the −70 LUFS gate. So the louder one is measured again with
 * its gain, and turned down by what is left. Turning down only takes quiet blocks away, which raises the mean of the rest: what is left is never
 * negative, each round loses a block or is the last, and the loudest block stays above the gate because the target does.
 * Blocks of a signal times g have the power of the signal's times g², so nothing is filtered again.
 */
function matchedBy(inMeter: LoudnessMeter, outMeter: LoudnessMeter, inLufs: number, outLufs: number): LevelMatchResult {
  const isInLouder = inLufs > outLufs;
  const louder = isInLouder ? inMeter : outMeter;
  const target = Math.min(inLufs, outLufs);
  let gainDb = target - Math.max(inLufs, outLufs);
  let residualDb = louder.integratedLufs(decibelsToRatio(gainDb)) - target;
  for (let round = 0; residualDb > goodEnoughDb && round < louder.blockCount; round += 1) {
    gainDb -= residualDb;
    residualDb = louder.integratedLufs(decibelsToRatio(gainDb)) - target;
  }
  // Adding 0 turns −0, which a file would show, into 0.
  return {
    kind: 'matched', inGainDb: (isInLouder ? gainDb : 0) + 0, outGainDb: (isInLouder ? 0 : gainDb) + 0, residualDb: (isInLouder ? residualDb : -residualDb) + 0, inLufs, outLufs,
  };
}

function cannot(reason: CannotMatchReason, sentence: string): LevelMatchResult {
  return { kind: 'cannot-match', reason, sentence };
}
