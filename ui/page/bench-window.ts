/** How much of a long recording lies in memory, and which stretch of it. Pure. */
import type { RegionFrames } from '../../dsp/path/index.ts';

/** Samples of all channels together: 512 MB, 11.6 minutes of stereo at 48 kHz, where threads share memory … */
export const mostSharedSamples = 1 << 26;
/** … and a quarter of it where each has a copy. */
export const mostCopiedSamples = 1 << 24;

export interface Recorded {
  readonly frames: number;
  readonly channels: number;
}

/** All of the recording if it is no longer; else a stretch round the region, or, with none, from `fromFrame` on. A region that is longer than memory begins it. */
export function windowRound({ frames, channels }: Recorded, region: RegionFrames | null, fromFrame: number, mostSamples: number): RegionFrames {
  const most = Math.floor(mostSamples / channels);
  if (frames <= most) return { startFrame: 0, endFrame: frames };
  const spare = region === null ? 0 : Math.max(0, most - (region.endFrame - region.startFrame));
  const wanted = region === null ? fromFrame : region.startFrame - Math.floor(spare / 2);
  const startFrame = Math.max(0, Math.min(frames - most, wanted));
  return { startFrame, endFrame: startFrame + most };
}

/** Whether the region can be had from what is in memory; of one longer than memory its beginning must be there. */
export function holds(window: RegionFrames, region: RegionFrames): boolean {
  const length = window.endFrame - window.startFrame;
  return region.startFrame >= window.startFrame && Math.min(region.endFrame, region.startFrame + length) <= window.endFrame;
}
