/** The player with what comes in from a device: through the path, kept, watched for a howl, and recorded for the loopback measurement. */
import { describe, expect, it } from 'vitest';
import { loopbackProbe, probeFrames } from '../../dsp/measure/index.ts';
import { PathRunner } from '../../dsp/path/index.ts';
import { BenchPlayer, chunkFrames } from '../../worklets/audio/bench-player.ts';
import type { FromProcessor, TappedSamples, ToProcessor } from '../../worklets/messages.ts';
import { firstDifference, nominalPeak, pathOf, planOf, rateHz, sine } from '../path/support.ts';

const straight = planOf(pathOf([], { oversamplingFactor: 1 }));
const rampFrames = 0.2 * rateHz;
type Come = readonly Float32Array[];

class Bench {
  readonly heard: FromProcessor[] = [];
  readonly player: BenchPlayer;
  #frame = 0;
  constructor(plan = straight, trialIn = true, monitorGain = 1) {
    this.player = new BenchPlayer({ plan, revision: 1, trialIn, monitorGain, meters: null, modules: [] }, rateHz, (message) => this.heard.push(message));
    this.run(20 * chunkFrames);
    this.#frame = 0;
  }
  /** `comeAt(frame)`: a sample of each channel that comes in. `from`: what came out lately, for a loop round the outside. */
  run(frames: number, comeAt: (frame: number, out: Float32Array) => readonly number[] = () => [], block = chunkFrames): Float32Array[] {
    const output = [new Float32Array(frames), new Float32Array(frames)];
    for (let at = 0; at < frames; at += block) {
      const count = Math.min(block, frames - at);
      const rows = Array.from({ length: count }, (_, i) => comeAt(this.#frame + i, output[0]!));
      const come: Come = rows[0]!.map((_, channel) => Float32Array.from(rows, (row) => row[channel]!));
      this.player.render(output.map((channel) => channel.subarray(at, at + count)), count, come);
      this.#frame += count;
    }
    return output;
  }
  take(...messages: ToProcessor[]): this {
    for (const message of messages) this.player.take(message);
    return this;
  }
  of<K extends FromProcessor['kind']>(kind: K): Extract<FromProcessor, { kind: K }>[] {
    return this.heard.filter((message): message is Extract<FromProcessor, { kind: K }> => message.kind === kind);
  }
}

const left = (frame: number): number => 0.1 * Math.sin(frame / 7);
const right = (frame: number): number => 0.2 * Math.cos(frame / 11);

describe('a live input', () => {
  it('goes through the path as a loop of the same samples does, to the bit, on either side of the switch', () => {
    const plan = planOf(pathOf(['push-pull']));
    for (const trialIn of [true, false]) {
      const bench = new Bench(plan, trialIn).take({ kind: 'live-source', channels: 'left' }, { kind: 'play' });
      const come = sine(1000, nominalPeak, rampFrames + 1280).map(Math.fround);
      const [heard] = bench.run(come.length, (frame) => [come[frame]!, 9]);
      const runner = new PathRunner(plan, 1, chunkFrames);
      runner.setTrialIn(trialIn);
      runner.reset();
      const expected = new Float64Array(come.length);
      for (let at = 0; at < come.length; at += chunkFrames) runner.process([come.subarray(at, at + chunkFrames)], [expected.subarray(at, at + chunkFrames)], chunkFrames);
      const from = rampFrames + chunkFrames;
      expect(firstDifference(Float64Array.from(heard!.subarray(from)), expected.subarray(from).map(Math.fround)), `trialIn ${trialIn}`).toBe(-1);
    }
  });

  it('is heard in mono, in stereo or on its left alone, in blocks of any size', () => {
    for (const block of [128, 100, 480]) {
      for (const [channels, expected] of [
        ['mono', (f: number) => [(left(f) + right(f)) / 2, (left(f) + right(f)) / 2]], ['stereo', (f: number) => [left(f), right(f)]], ['left', (f: number) => [left(f), left(f)]],
      ] as const) {
        const bench = new Bench().take({ kind: 'live-source', channels }, { kind: 'play' });
        const output = bench.run(rampFrames + 4800, (f) => [left(f), right(f)], block);
        for (let i = rampFrames + 500; i < rampFrames + 4800; i += 1) {
          output.forEach((heard, channel) => { if (Math.abs(heard[i]! - expected(i)[channel]!) > 1e-7) throw new Error(`${channels}, block ${block}, channel ${channel}, frame ${i}: ${heard[i]}`); });
        }
      }
    }
  });

  it('of one channel comes on both sides; none, and what is not a number, is silence that does not last', () => {
    const bench = new Bench(planOf(pathOf(['single-ended-bipolar']))).take({ kind: 'live-source', channels: 'stereo' }, { kind: 'play' });
    const [a, b] = bench.run(rampFrames, (f) => [left(f)]);
    expect(firstDifference(Float64Array.from(a!), Float64Array.from(b!))).toBe(-1);
    expect(bench.run(4800)[0]!.every(Number.isFinite)).toBe(true);
    const bad = bench.run(4800, (f) => [f % 3 === 0 ? NaN : f % 3 === 1 ? Infinity : left(f)]);
    expect(bad[0]!.every(Number.isFinite)).toBe(true);
    expect(bench.run(9600, (f) => [left(f)])[0]!.subarray(4800).some((sample) => Math.abs(sample) > 0.01)).toBe(true);
    expect(bench.player.meters.nonFinite).toBe(0);
  });

  it('gives way to the loop, which goes on where it was, without a jump', () => {
    const bench = new Bench().take({ kind: 'programme', channels: [new Float64Array(9000).fill(0.5)], region: { startFrame: 0, endFrame: 9000 }, frame: 0 }, { kind: 'live-source', channels: 'mono' }, { kind: 'play' });
    expect(bench.run(rampFrames, () => [0.25, 0.25])[0]![rampFrames - 1]).toBeCloseTo(0.25, 6);
    bench.take({ kind: 'live-source', channels: null });
    const [heard] = bench.run(2400, () => [0.25, 0.25]);
    let steepest = 0;
    for (let i = 1; i < heard!.length; i += 1) steepest = Math.max(steepest, Math.abs(heard![i]! - heard![i - 1]!));
    expect(steepest).toBeLessThanOrEqual(0.5 / 480 + 1e-6);
    expect([Math.min(...heard!), heard![2399]]).toEqual([0, 0.5]);
    expect(bench.of('began').map(({ live }) => live)).toEqual([false, false, true, false]);
  });

  it('is silent until it is asked to play, and within 50 ms of Escape', () => {
    const bench = new Bench().take({ kind: 'live-source', channels: 'mono' });
    expect(bench.run(4800, () => [0.5])[0]!.every((sample) => sample === 0)).toBe(true);
    bench.take({ kind: 'play' });
    const [rising] = bench.run(rampFrames, () => [0.5]);
    rising!.forEach((sample, i) => { if (Math.abs(sample - (0.5 * (i + 1)) / rampFrames) > 1e-6) throw new Error(`frame ${i}: ${sample}`); });
    bench.take({ kind: 'pause' });
    bench.run(0.05 * rateHz, () => [0.5]);
    expect(bench.run(4800, () => [0.5])[0]!.every((sample) => sample === 0)).toBe(true);
  });
});

describe('what is kept of it', () => {
  it('is what came in, before the path, and says where it does not join on', () => {
    const batches: TappedSamples[] = [];
    const port = { postMessage: (batch: TappedSamples) => batches.push(batch), close: () => undefined } as unknown as MessagePort;
    const bench = new Bench(straight, true, 0.1).take({ kind: 'live-source', channels: 'stereo' }, { kind: 'keep-input', tap: { place: 'input', ring: null, port } }, { kind: 'play' });
    bench.run(9600, (f) => [left(f), right(f)]);
    bench.take({ kind: 'pause' });
    bench.run(4800, (f) => [left(f), right(f)]);
    const kept = batches.flatMap(({ channels }) => Array.from(channels[1]!));
    expect(kept.length).toBeGreaterThan(8000);
    kept.forEach((sample, i) => { if (sample !== Math.fround(right(i))) throw new Error(`frame ${i}: ${sample}, expected ${right(i)}`); });
    bench.take({ kind: 'play' });
    bench.run(4800, (f) => [left(f), right(f)]);
    const joined = batches.map((batch) => batch.joined);
    expect(joined.filter((joins) => !joins).length).toBe(2);
    bench.take({ kind: 'keep-input', tap: null });
    const before = batches.length;
    bench.run(4800, (f) => [left(f), right(f)]);
    expect(batches.length).toBe(before);
  });
});

describe('a howl', () => {
  /** Round the outside: what came out comes in 20 ms later, through a resonance, `gain` times, with a little noise. */
  function roundOutside(gain: number): (frame: number, out: Float32Array) => readonly number[] {
    let [low, band, seed] = [0, 0, 1];
    return (frame, out) => {
      seed = (seed * 16_807) % 2_147_483_647;
      const from = frame - 960;
      const back = from >= 0 ? out[from]! : 0;
      low += 0.15 * band;
      band += 0.15 * (back - low - 0.4 * band);
      return [Math.max(-1, Math.min(1, gain * 0.4 * band + 1e-4 * (seed / 2_147_483_647 - 0.5)))];
    };
  }

  it('mutes within 10 ms of being told, says so once, and Play brings it back from silence', () => {
    const bench = new Bench().take({ kind: 'live-source', channels: 'left' }, { kind: 'play' });
    const [heard] = bench.run(4 * rateHz, roundOutside(1.5));
    expect(bench.of('howl').length).toBe(1);
    expect(bench.of('howl')[0]!.frequencyHz).toBeGreaterThan(500);
    const last = heard!.findLastIndex((sample) => sample !== 0);
    expect(last).toBeLessThan(4 * rateHz - 4800);
    bench.take({ kind: 'play' });
    expect(bench.run(4800, () => [0.1])[0]!.some((sample) => sample > 0.01)).toBe(true);
  });

  it('is not told of a loop round the outside that dies away, nor of a loop in memory that holds a loud sine', () => {
    const bench = new Bench().take({ kind: 'live-source', channels: 'left' }, { kind: 'play' });
    bench.run(3 * rateHz, roundOutside(0.5));
    expect(bench.of('howl')).toEqual([]);
    const loud = sine(1000, 0.95, 48_000);
    bench.take({ kind: 'live-source', channels: null }, { kind: 'programme', channels: [loud], region: { startFrame: 0, endFrame: 48_000 }, frame: 0 });
    bench.run(2 * rateHz);
    expect(bench.of('howl')).toEqual([]);
  });
});

describe('a loopback measurement', () => {
  const probe = loopbackProbe(rateHz);
  const peak = 0.01;

  it('puts the bursts out past the monitor level and records from the same frame on', () => {
    const bench = new Bench(straight, true, 0.001).take({ kind: 'loopback', probe, peak });
    const delay = 777;
    const [heard] = bench.run(probeFrames(probe) + chunkFrames, (frame, out) => [frame >= delay ? out[frame - delay]! : 0]);
    const first = heard!.findIndex((sample) => sample !== 0);
    for (let i = 0; i < probe.burst.length; i += 1) expect(heard![first + i]).toBe(Math.fround(peak * probe.burst[i]!));
    expect(heard![first + probe.burst.length]).toBe(0);
    const { recording } = bench.of('looped-back')[0]!;
    expect(recording!.length).toBe(probeFrames(probe));
    expect(recording!.findIndex((sample) => sample !== 0)).toBe(delay);
    expect(recording![delay + 5]).toBe(Math.fround(peak * probe.burst[5]!));
  });

  it('ends whatever plays first, and is ended by Escape within 10 ms, with nothing to look at', () => {
    const bench = new Bench().take({ kind: 'live-source', channels: 'mono' }, { kind: 'play' });
    bench.run(rampFrames, () => [0.5]);
    bench.take({ kind: 'loopback', probe, peak });
    const [heard] = bench.run(2400, () => [0.5]);
    expect(Math.max(...heard!.subarray(600).map(Math.abs))).toBeLessThanOrEqual(peak);
    bench.take({ kind: 'pause' });
    const [after] = bench.run(9600, () => [0.5]);
    expect(after!.subarray(480 + chunkFrames).every((sample) => sample === 0)).toBe(true);
    expect(bench.of('looped-back')).toEqual([{ kind: 'looped-back', recording: null }]);
  });
});
