import { describe, expect, it } from 'vitest';
import { LoopPlayer } from '../../dsp/path/index.ts';
import { regionFrames, regionSamples } from '../../worklets/region-frames.ts';

const counting = (first: number, frames: number) => Float64Array.from({ length: frames }, (_, n) => first + n);
const held = { rateHz: 1000, channels: [counting(5000, 2000)], firstFrame: 5000 };

describe('a stretch of a long recording', () => {
  it('has the region in frames of the recording, as far as it is there', () => {
    expect(regionFrames(held, null)).toEqual({ startFrame: 5000, endFrame: 7000 });
    expect(regionFrames(held, { startSeconds: 5.5, endSeconds: 6 })).toEqual({ startFrame: 5500, endFrame: 6000 });
    expect(regionFrames(held, { startSeconds: 1, endSeconds: 6 })).toEqual({ startFrame: 5000, endFrame: 6000 });
    expect(regionFrames(held, { startSeconds: 8, endSeconds: 9 })).toEqual({ startFrame: 6999, endFrame: 7000 });
    expect(regionSamples(held, { startFrame: 5500, endFrame: 5503 })).toEqual([Float64Array.of(5500, 5501, 5502)]);
  });

  it('is played by frames of the recording, seamlessly round the region', () => {
    const player = new LoopPlayer();
    player.load(held.channels, { startFrame: 5100, endFrame: 5103 }, 5101, 5000);
    const output = [new Float64Array(7)];
    expect(player.fill(output, 7)).toBe(true);
    expect([...output[0]!]).toEqual([5101, 5102, 5100, 5101, 5102, 5100, 5101]);
    player.setRegion({ startFrame: 0, endFrame: 9000 });
    expect([player.startFrame, player.endFrame]).toEqual([5000, 7000]);
    player.seek(6999);
    player.fill(output, 2);
    expect([...output[0]!.subarray(0, 2)]).toEqual([6999, 5000]);
  });
});
