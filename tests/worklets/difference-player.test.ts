/** What is added, heard in place of the path: in step with the loop to the sample, under the same fades, never in blind work. */
import { describe, expect, it } from 'vitest';
import { fadeFrames, PathRunner } from '../../dsp/path/index.ts';
import { BenchPlayer, chunkFrames } from '../../worklets/audio/bench-player.ts';
import type { ToProcessor } from '../../worklets/messages.ts';
import { pathOf, planOf, rateHz } from '../path/support.ts';

const plan = planOf(pathOf([], { oversamplingFactor: 2 }));
const latency = new PathRunner(plan, 1, chunkFrames).latencyFrames;
const fade = fadeFrames(rateHz);
const region = { startFrame: 500, endFrame: 4301 };
const loop = new Float64Array(6000).fill(0.5);
/** Every sample tells its place in the region. */
const counting = Float64Array.from({ length: region.endFrame - region.startFrame }, (_, i) => -(i + 1) / 1e5);
const samples = { channels: [counting], ...region };
const { port1 } = new MessageChannel();
port1.close();

class Bench {
  readonly player = new BenchPlayer({ plan, revision: 1, trialIn: true, monitorGain: 1, meters: null, modules: [] }, rateHz, () => undefined);
  constructor() {
    this.run(40 * chunkFrames);
    this.take({ kind: 'programme', channels: [loop], region, frame: region.startFrame }, { kind: 'play' });
    this.run(100 * chunkFrames);
  }
  run(frames: number): Float32Array {
    const output = new Float32Array(frames);
    for (let at = 0; at < frames; at += chunkFrames) this.player.render([output.subarray(at, at + chunkFrames)], chunkFrames);
    return output;
  }
  take(...messages: ToProcessor[]): this {
    for (const message of messages) this.player.take(message);
    return this;
  }
}

/** What of the region belongs to a sample of the output, by frames since the loop began. */
const expected = (frame: number): number => counting[(((frame - latency) % counting.length) + counting.length) % counting.length]!;

describe('the difference', () => {
  it('sounds in step with the loop, over its wrap, with its gain; the path comes back as if it had never gone', () => {
    const bench = new Bench();
    const plain = new Bench();
    let frame = 100 * chunkFrames;
    bench.take({ kind: 'difference', samples }, { kind: 'hear-difference', heard: true, gain: 4 });
    const changing = bench.run(8 * chunkFrames);
    plain.run(8 * chunkFrames);
    // The crossfade of a switch: half of each in its middle.
    const middle = changing[fade / 2 - 1]!;
    expect(Math.abs(middle - 0.5 * (0.5 + 4 * expected(frame + fade / 2 - 1)))).toBeLessThan(1e-4);
    frame += 8 * chunkFrames;
    const heard = bench.run(60 * chunkFrames);
    plain.run(60 * chunkFrames);
    for (let i = 0; i < heard.length; i += 1) if (Math.abs(heard[i]! - 4 * expected(frame + i)) > 1e-6) throw new Error(`frame ${i}: ${heard[i]}, expected ${4 * expected(frame + i)}`);
    bench.take({ kind: 'hear-difference', heard: false, gain: 4 });
    bench.run(8 * chunkFrames);
    plain.run(8 * chunkFrames);
    expect(bench.run(20 * chunkFrames)).toEqual(plain.run(20 * chunkFrames));
  });

  it('gives way to a newer one by a crossfade, and to the path where there is none any more', () => {
    const bench = new Bench().take({ kind: 'difference', samples: { ...samples, channels: [new Float64Array(counting.length).fill(0.1)] } }, { kind: 'hear-difference', heard: true, gain: 1 });
    bench.run(8 * chunkFrames);
    bench.take({ kind: 'difference', samples: { ...samples, channels: [new Float64Array(counting.length).fill(0.3)] } });
    const swapped = bench.run(8 * chunkFrames);
    expect(Math.abs(swapped[fade / 2 - 1]! - 0.2)).toBeLessThan(1e-6);
    expect(Math.abs(swapped[fade]! - 0.3)).toBeLessThan(1e-6);
    let steepest = 0;
    for (let i = 1; i < swapped.length; i += 1) steepest = Math.max(steepest, Math.abs(swapped[i]! - swapped[i - 1]!));
    // Twice the mean slope, as a fade's middle has it.
    expect(steepest).toBeLessThan(2.1 * (0.2 / fade));
    bench.take({ kind: 'difference', samples: null });
    bench.run(8 * chunkFrames);
    expect(Math.abs(bench.run(chunkFrames)[0]! - 0.5)).toBeLessThan(1e-4);
  });

  it('moves to another gain without a jump, and is there at once where nothing sounds', () => {
    const flat = { ...samples, channels: [new Float64Array(counting.length).fill(0.1)] };
    const bench = new Bench().take({ kind: 'difference', samples: flat }, { kind: 'hear-difference', heard: true, gain: 1 });
    bench.run(8 * chunkFrames);
    bench.take({ kind: 'hear-difference', heard: true, gain: 2 });
    const moving = bench.run(10 * chunkFrames);
    let steepest = 0;
    for (let i = 1; i < moving.length; i += 1) steepest = Math.max(steepest, Math.abs(moving[i]! - moving[i - 1]!));
    expect(steepest).toBeLessThan(0.1 / 900);
    expect(Math.abs(moving.at(-1)! - 0.2)).toBeLessThan(1e-6);
    bench.take({ kind: 'pause' });
    bench.run(20 * chunkFrames);
    bench.take({ kind: 'hear-difference', heard: false, gain: 2 }, { kind: 'play' });
    // The first frames of the ramp are the path's: 0.5 of it.
    const rising = bench.run(chunkFrames);
    expect(Math.abs(rising[chunkFrames - 1]! - (0.5 * chunkFrames) / (0.2 * rateHz))).toBeLessThan(1e-5);
  });

  it('falls silent with everything else, and is not heard in a blind comparison, whatever is asked', () => {
    const bench = new Bench().take({ kind: 'difference', samples }, { kind: 'hear-difference', heard: true, gain: 1 });
    bench.run(8 * chunkFrames);
    bench.take({ kind: 'pause' });
    bench.run(Math.ceil((0.01 * rateHz) / chunkFrames) * chunkFrames);
    expect(bench.run(10 * chunkFrames).every((sample) => sample === 0)).toBe(true);
    bench.take({ kind: 'blind', port: port1 }, { kind: 'hear-difference', heard: true, gain: 1 }, { kind: 'play' });
    bench.run(100 * chunkFrames);
    expect(bench.run(10 * chunkFrames).every((sample) => Math.abs(sample - 0.5) < 1e-4)).toBe(true);
  });
});
