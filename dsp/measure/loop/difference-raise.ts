/** How far what is added may be raised to be heard alone. Off the audio thread. */
import { LoudnessMeter, TruePeakMeter } from '../../listening/index.ts';
import { decibelsToRatio, ratioToDecibels } from '../../math/index.ts';
import { meanSquareInSteps } from './steps.ts';

/** What lies this far under the programme is no more than the way it is found leaves of a linear path (−130 dB and less). */
export const leastAddedDb = -120;
/** Under the programme's own loudness at first: near enough to compare, and nobody is startled. Our own choice. */
const atFirstUnderDb = 6;
const fullestPeakDb = -1;
const meteredFrames = 16_384;

export interface DifferenceRaise {
  /** R.m.s. of what is added re what is heard with the thing on trial in; −Infinity for nothing. */
  readonly belowDb: number;
  /** Whole dB: 6 dB or more under the programme's own loudness. */
  readonly chosenDb: number;
  /** Whole dB: no louder than the programme itself, and no peak beyond −1 dBFS. */
  readonly mostDb: number;
}

/**
 * Loudness is the gated, K-weighted one (ITU-R BS.1770) of region against region; where one is too short or too weak for it, r.m.s. Null where what is added is too weak to be told from what
 * the method leaves. Yields between stretches.
 */
export function* differenceRaiseInSteps(added: readonly Float64Array[], heard: readonly Float64Array[], rateHz: number): Generator<undefined, DifferenceRaise | { readonly belowDb: number; readonly mostDb: null }> {
  const [addedSquare, heardSquare] = [yield* meanSquareInSteps(added), yield* meanSquareInSteps(heard)];
  const belowDb = ratioToDecibels(Math.sqrt(addedSquare / heardSquare));
  if (!(belowDb >= leastAddedDb)) return { belowDb, mostDb: null };
  // As strong as the programme, so that both pass the same gates.
  const addedMeter = yield* metered(added, rateHz, decibelsToRatio(-belowDb));
  const heardMeter = yield* metered(heard, rateHz, 1);
  const apartDb = heardMeter.lufs - addedMeter.lufs;
  const asLoudDb = apartDb - apartDb === 0 ? apartDb - belowDb : -belowDb;
  const mostDb = Math.floor(Math.min(asLoudDb, fullestPeakDb - (addedMeter.truePeakDb + belowDb)));
  return { belowDb, mostDb, chosenDb: Math.min(mostDb, Math.floor(asLoudDb - atFirstUnderDb)) };
}

function* metered(channels: readonly Float64Array[], rateHz: number, gain: number): Generator<undefined, { readonly lufs: number; readonly truePeakDb: number }> {
  const meter = new LoudnessMeter(rateHz, channels.length);
  const peak = new TruePeakMeter(channels.length);
  const block = channels.map(() => new Float64Array(meteredFrames));
  const frames = channels[0]!.length;
  for (let at = 0; at < frames; at += meteredFrames) {
    const count = Math.min(meteredFrames, frames - at);
    for (const [channel, samples] of channels.entries()) for (let i = 0; i < count; i += 1) block[channel]![i] = gain * samples[at + i]!;
    meter.push(block, 0, count);
    peak.push(block, 0, count);
    yield undefined;
  }
  peak.finish();
  return { lufs: meter.integratedLufs(), truePeakDb: peak.truePeakDb };
}
