/** Both ways as files to be put into a page: how they are encoded, and how long they may be. */
import { encodeWholeWav, frameBytes, type SampleEncoding } from '../../../dsp/recording/index.ts';
import type { BothWays } from '../../../dsp/measure/loop/index.ts';
import type { DemonstrationSound } from './content.ts';

/** A page that is sent about stays of a size to be sent. */
export const longestSeconds = 60;
/** What loudness can be measured of. */
export const shortestSeconds = 0.4;
/** Both ways together stay below this in 24 bits; above it they are written in 16. */
const finestBytes = 16_000_000;

/** A sentence why this stretch cannot be demonstrated; null: it can. */
export function refuseLength(seconds: number): string | null {
  if (seconds > longestSeconds) return `expected a region of at most ${longestSeconds} s, got ${seconds.toFixed(1)} s: choose a shorter one`;
  if (seconds < shortestSeconds) return `expected a region of ${shortestSeconds} s or more, got ${seconds.toFixed(2)} s`;
  return null;
}

/** 24 bits where that is not too much, else 16; no dither, as in every render. */
export function encodingFor(frames: number, channelCount: 1 | 2, rateHz: number): SampleEncoding {
  return 2 * frames * frameBytes({ encoding: 'pcm24', channelCount, rateHz }) <= finestBytes ? 'pcm24' : 'pcm16';
}

export function encodeBothWays(ways: BothWays, rateHz: number): DemonstrationSound {
  const channels = ways.in.length === 2 ? 2 : 1;
  const frames = ways.in[0]!.length;
  const encoding = encodingFor(frames, channels, rateHz);
  const samples = { encoding, channelCount: channels, rateHz } as const;
  const counts = { clippedSamples: 0, notNumberSamples: 0 };
  const { match, trimDb, drift } = ways;
  const sound = { encoding, rateHz, channels, frames, match, trimDb, drift, in: encodeWholeWav(samples, ways.in, counts), out: encodeWholeWav(samples, ways.out, counts) } as const;
  if (counts.clippedSamples + counts.notNumberSamples > 0) throw new RangeError(`sound: expected finite samples within full scale, got ${counts.clippedSamples} beyond and ${counts.notNumberSamples} that are no numbers`);
  return sound;
}
