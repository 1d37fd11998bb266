/** A region moved by keys, to the sample, and what the overview shows of a long loop. Pure. */
import type { Stretch } from './material-state.ts';

export type RegionEnd = 'start' | 'end';

/** A region is at least this long, so that its ends can be told. */
export const shortestRegionSeconds = 0.05;
/** A step with Shift and an arrow; comma and full stop step by one frame. */
export const nudgeSeconds = 0.01;
/** One look closer. */
const closerBy = 2;

interface Measures {
  readonly rateHz: number;
  /** Of the whole loop. */
  readonly frames: number;
}

/**
 * The region with one of its ends moved by `byFrames`, on whole frames; null in `region` is the whole loop. An end stops at the loop's, or where the region
 * would be too short. Null: it is the whole loop again.
 */
export function nudged(region: Stretch | null, end: RegionEnd, byFrames: number, { rateHz, frames }: Measures): Stretch | null {
  const shortest = Math.min(frames, Math.ceil(shortestRegionSeconds * rateHz));
  let startFrame = Math.round((region?.startSeconds ?? 0) * rateHz);
  let endFrame = Math.min(frames, Math.round((region?.endSeconds ?? frames / rateHz) * rateHz));
  if (end === 'start') startFrame = Math.max(0, Math.min(endFrame - shortest, startFrame + byFrames));
  else endFrame = Math.min(frames, Math.max(startFrame + shortest, endFrame + byFrames));
  return startFrame === 0 && endFrame === frames ? null : { startSeconds: startFrame / rateHz, endSeconds: endFrame / rateHz };
}

/** Half as much of the loop, or twice, with this moment in the middle as far as the loop goes. */
export function lookedAt(view: Stretch | null, closer: boolean, aroundSeconds: number, loopSeconds: number): Stretch | null {
  const shown = view ? view.endSeconds - view.startSeconds : loopSeconds;
  const length = closer ? shown / closerBy : shown * closerBy;
  if (!(length < loopSeconds)) return null;
  const startSeconds = Math.min(loopSeconds - length, Math.max(0, aroundSeconds - length / 2));
  return { startSeconds, endSeconds: startSeconds + length };
}
