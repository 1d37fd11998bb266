import { describe, expect, it } from 'vitest';
import { PathRunner, planPath } from '../../../dsp/path/index.ts';
import { openingSetting } from '../../../dsp/setting/index.ts';
import { MeterRingReader, meterRingBytes } from '../../../worklets/meter-ring.ts';
import { nominalPeak, pathOf, planOf, plucked, sine } from '../../path/support.ts';
import { modulesOf, offlineBench, rateHz } from './support.ts';

/** Frames in which the processor warms up: twelve blocks of 128. */
const warmFrames = 12 * 128;
/** The ramp from silence, 200 ms. */
const rampFrames = 9600;

const opening = { plan: planOf(openingSetting().path), revision: 1, trialIn: true, monitorGain: 1 };

/** The path run directly on a loop, block by block as the processor does. */
function direct(plan: PathRunner['plan'], channels: readonly Float64Array[], frames: number): Float64Array[] {
  const runner = new PathRunner(plan, channels.length, 128);
  runner.reset();
  const outputs = channels.map(() => new Float64Array(frames));
  const inputs = channels.map((channel) => Float64Array.from({ length: frames }, (_, i) => channel[i % channel.length]!));
  for (let at = 0; at < frames; at += 128) {
    const count = Math.min(128, frames - at);
    runner.process(inputs.map((input) => input.subarray(at, at + count)), outputs.map((output) => output.subarray(at, at + count)), count);
  }
  return outputs;
}

describe('the processor in an offline context', () => {
  it.each([
    [1, 'compiled code'], [2, 'compiled code'], [1, 'loops'], [2, 'loops'],
  ])('plays a loop of %i channel(s) in %s to the bit as the path run directly', async (channelCount, code) => {
    const loop = [plucked(5000, 0.3), sine(777, 0.2, 5000)].slice(0, channelCount);
    const frames = warmFrames + rampFrames + 6400;
    const compiled = code === 'compiled code';
    const bench = await offlineBench({ ...opening, modules: compiled ? modulesOf(opening.plan) : [] }, frames);
    bench.send({ kind: 'programme', channels: loop, region: { startFrame: 0, endFrame: 5000 }, frame: 0 });
    bench.send({ kind: 'play' });
    const output = await bench.render();
    const expected = direct(opening.plan, loop, frames - warmFrames);
    const wrong: string[] = [];
    for (const [channel, heard] of output.entries()) {
      const wanted = expected[Math.min(channel, channelCount - 1)]!;
      for (let i = warmFrames + rampFrames; i < frames; i += 1) {
        if (!Object.is(heard[i], Math.fround(wanted[i - warmFrames]!)) && wrong.length < 3) wrong.push(`channel ${channel}, frame ${i}: ${heard[i]}, expected ${wanted[i - warmFrames]}`);
      }
      expect(heard.subarray(0, warmFrames).every((sample) => sample === 0)).toBe(true);
      expect(heard.subarray(warmFrames + rampFrames).some((sample) => Math.abs(sample) > 0.05)).toBe(true);
    }
    expect(wrong).toEqual([]);
    expect(bench.heard).toContainEqual({ kind: 'ready', compiled });
    expect(bench.heard.filter(({ kind }) => kind === 'fault')).toEqual([]);
  });

  it.each([44_100, 96_000])('plays at %i Hz to the bit as the path run directly at that rate, a stretch of a long recording too', async (baseRateHz) => {
    const plan = planPath(openingSetting().path, baseRateHz);
    const loop = [plucked(5000, 0.3)];
    const risen = warmFrames + Math.round(0.2 * baseRateHz);
    const frames = risen + 3200;
    const bench = await offlineBench({ ...opening, plan, modules: modulesOf(plan) }, frames);
    bench.send({ kind: 'programme', channels: loop, firstFrame: 1000, region: { startFrame: 1000, endFrame: 6000 }, frame: 1000 });
    bench.send({ kind: 'play' });
    const [left] = await bench.render();
    const [wanted] = direct(plan, loop, frames - warmFrames);
    const wrong: string[] = [];
    for (let i = risen; i < frames; i += 1) {
      if (!Object.is(left![i], Math.fround(wanted![i - warmFrames]!)) && wrong.length < 3) wrong.push(`frame ${i}: ${left![i]}, expected ${wanted![i - warmFrames]}`);
    }
    expect(wrong).toEqual([]);
    expect(left!.subarray(risen).some((sample) => Math.abs(sample) > 0.05)).toBe(true);
  });

  it('rises from silence over 200 ms', async () => {
    const bench = await offlineBench({ ...opening, plan: planOf(pathOf([])) }, warmFrames + 12_000);
    bench.send({ kind: 'programme', channels: [new Float64Array(4800).fill(0.5)], region: { startFrame: 0, endFrame: 4800 }, frame: 0 });
    bench.send({ kind: 'play' });
    const [left] = await bench.render();
    const at = (frame: number): number => left![warmFrames + frame]!;
    // The ladder's 60-odd frames of latency and its ripple are over by then.
    expect(Math.abs(at(4800) - 0.25) <= 0.001).toBe(true);
    expect(Math.abs(at(9700) - 0.5) <= 0.0001).toBe(true);
    let steepest = 0;
    for (let i = warmFrames + 1; i < left!.length; i += 1) steepest = Math.max(steepest, Math.abs(left![i]! - left![i - 1]!));
    // 0.5 in 9,600 frames is 5e-5 a frame; the step at the path's own start is scaled by the ramp's first hundredth.
    expect(steepest).toBeLessThan(0.5 * 0.01);
  });

  it('takes plans straight from another thread over a port posted to it, and answers there', async () => {
    const bench = await offlineBench(opening, warmFrames + 128 * 200);
    const answers: unknown[] = [];
    bench.live.onmessage = ({ data }) => answers.push(data);
    const quieter = planOf(pathOf(['harmonic-shaping']));
    bench.send({ kind: 'programme', channels: [sine(1000, nominalPeak, 4800)], region: { startFrame: 0, endFrame: 4800 }, frame: 0 });
    bench.send({ kind: 'play' });
    bench.live.postMessage({ kind: 'plan', plan: quieter, modules: [], revision: 7 });
    await bench.render();
    expect(bench.heard).toContainEqual(expect.objectContaining({ kind: 'landed', revision: 7 }));
    expect(answers).toContainEqual(expect.objectContaining({ kind: 'landed', revision: 7 }));
  });

  it('says when a plan cannot be taken, and plays on', async () => {
    const bench = await offlineBench(opening, warmFrames + 128 * 150);
    bench.send({ kind: 'programme', channels: [sine(1000, nominalPeak, 4800)], region: { startFrame: 0, endFrame: 4800 }, frame: 0 });
    bench.send({ kind: 'play' });
    bench.live.postMessage({ kind: 'plan', plan: { ...opening.plan, baseRateHz: 44_100 }, modules: [], revision: 3 });
    const [left] = await bench.render();
    expect(bench.heard).toContainEqual({ kind: 'refused', revision: 3, sentence: 'base rate: expected 48000 Hz as before, got 44100 Hz' });
    expect(left!.subarray(-1000).some((sample) => Math.abs(sample) > 0.02)).toBe(true);
  });

  it('reports what goes wrong inside it once, and is silent from then on', async () => {
    const stage = opening.plan.stages[0]!;
    if (stage.wired.program.kind !== 'circuit') throw new Error('expected a circuit');
    const { circuit } = stage.wired.program;
    const topology = { ...circuit.topology, updateRows: null as never };
    const broken = { ...opening.plan, stages: [{ ...stage, wired: { identity: 'broken', program: { ...stage.wired.program, circuit: { ...circuit, topology } } } }] };
    const bench = await offlineBench({ ...opening, plan: broken }, 128 * 60);
    const output = await bench.render();
    expect(bench.heard.filter(({ kind }) => kind === 'fault')).toHaveLength(1);
    expect(bench.heard.find(({ kind }) => kind === 'fault')).toMatchObject({ sentence: expect.stringMatching(/null/) as string });
    expect(output[0]!.every((sample) => sample === 0)).toBe(true);
  });

  it('keeps the monitor under −1 dBFS and says so through the shared ring', async () => {
    const meters = new SharedArrayBuffer(meterRingBytes);
    const bench = await offlineBench({ ...opening, plan: planOf(pathOf([])), meters, monitorGain: 4 }, warmFrames + 12_800);
    bench.send({ kind: 'programme', channels: [sine(500, 0.9, 4800)], region: { startFrame: 0, endFrame: 4800 }, frame: 0 });
    bench.send({ kind: 'play' });
    const [left] = await bench.render();
    const peak = left!.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
    expect(peak).toBeLessThanOrEqual(Math.fround(10 ** (-1 / 20)));
    const shown = new MeterRingReader(meters).read()!;
    expect(shown.limiterGain).toBeLessThan(0.3);
    expect(Math.abs(shown.peakLeft - peak) <= 0.01).toBe(true);
    expect(shown.positionFrame).toBe((12_800 % 4800));
    expect(bench.heard.some(({ kind }) => kind === 'meters')).toBe(false);
  });

  it('sends the meters by message, thirty a second at most, where memory is not shared', async () => {
    const bench = await offlineBench({ ...opening, plan: planOf(pathOf([])) }, warmFrames + rateHz);
    bench.send({ kind: 'programme', channels: [sine(500, 0.5, 4800)], region: { startFrame: 0, endFrame: 4800 }, frame: 0 });
    bench.send({ kind: 'play' });
    await bench.render();
    const count = bench.heard.filter(({ kind }) => kind === 'meters').length;
    expect(count).toBeGreaterThan(20);
    expect(count).toBeLessThanOrEqual(31);
  });
});
