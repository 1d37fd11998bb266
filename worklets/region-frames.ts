/** A region in seconds, and the samples of it that are in memory. */
import type { RegionFrames } from '../dsp/path/index.ts';
import type { Programme } from './messages.ts';

type Held = Pick<Programme, 'rateHz' | 'channels' | 'firstFrame'>;

/** Frames of the recording between two moments, as far as they are in memory; null: all that is. At least one frame. */
export function regionFrames({ rateHz, channels, firstFrame }: Held, region: { readonly startSeconds: number; readonly endSeconds: number } | null): RegionFrames {
  const end = firstFrame + channels[0]!.length;
  if (region === null) return { startFrame: firstFrame, endFrame: end };
  const startFrame = Math.min(end - 1, Math.max(firstFrame, Math.round(region.startSeconds * rateHz)));
  return { startFrame, endFrame: Math.min(end, Math.max(startFrame + 1, Math.round(region.endSeconds * rateHz))) };
}

/** The samples of these frames of the recording; they are not copied. */
export function regionSamples({ channels, firstFrame }: Pick<Programme, 'channels' | 'firstFrame'>, { startFrame, endFrame }: RegionFrames): Float64Array[] {
  return channels.map((channel) => channel.subarray(startFrame - firstFrame, endFrame - firstFrame));
}
