/** What plays, handed on to whoever looks at its spectrum: the ring, the batches, and where in the player they are taken. */
import { describe, expect, it } from 'vitest';
import { SampleTap } from '../../worklets/audio/sample-tap.ts';
import { BenchPlayer, chunkFrames } from '../../worklets/audio/bench-player.ts';
import type { TapPlace, TappedSamples, ToProcessor } from '../../worklets/messages.ts';
import { ringFrames, sampleRingBytes, SampleRingReader, SampleRingWriter } from '../../worklets/sample-ring.ts';
import { pathOf, planOf, rateHz, sine } from '../path/support.ts';

const counting = (from: number, frames: number): Float64Array => Float64Array.from({ length: frames }, (_, i) => from + i);
const ringPair = () => {
  const memory = new SharedArrayBuffer(sampleRingBytes);
  return { memory, writer: new SampleRingWriter(memory), reader: new SampleRingReader(memory) };
};

describe('the ring', () => {
  it('gives every sample once, in order, over its end, in one channel or two', () => {
    const { writer, reader } = ringPair();
    writer.begin(2);
    let next = 0;
    for (let block = 0; block < 300; block += 1) {
      const frames = [128, 1000, 7][block % 3]!;
      for (let k = 0; k < 3; k += 1) writer.write([counting(next + k * frames, frames), counting(-next - k * frames, frames)], 2, frames);
      const taken = reader.read()!;
      expect([taken.frames, taken.channels.length, taken.joined]).toEqual([3 * frames, 2, block > 0]);
      for (let i = 0; i < taken.frames; i += 1) if (taken.channels[0]![i] !== next + i) throw new Error(`block ${block}, ${i}: ${taken.channels[0]![i]}, expected ${next + i}`);
      expect(taken.channels[1]![0]! + next).toBe(0);
      expect(reader.read()).toBeNull();
      next += 3 * frames;
    }
    expect(next).toBeGreaterThan(4 * ringFrames);
  });

  it('says what does not join on: a new stretch, or samples that were lost', () => {
    const { writer, reader } = ringPair();
    writer.begin(1);
    writer.write([counting(0, 100)], 1, 100);
    expect(reader.read()!.joined).toBe(false);
    writer.write([counting(100, 100)], 1, 100);
    writer.begin(2);
    expect(reader.read()).toBeNull();
    writer.write([counting(500, 50), counting(500, 50)], 2, 50);
    const fresh = reader.read()!;
    // What was left of the stretch before is dropped.
    expect([fresh.frames, fresh.joined, fresh.channels.length, fresh.channels[0]![0]]).toEqual([50, false, 2, 500]);
    for (let k = 0; k < 700; k += 1) writer.write([counting(k * 128, 128), counting(k * 128, 128)], 2, 128);
    const late = reader.read()!;
    expect(late.joined).toBe(false);
    expect(late.frames).toBeLessThan(ringFrames);
    expect(late.channels[0]![late.frames - 1]).toBe(700 * 128 - 1);
    expect(late.channels[0]![0]).toBe(700 * 128 - late.frames);
  });
});

describe('without shared memory', () => {
  it('sends what came as it was, 30 times a second at the most', () => {
    const sent: TappedSamples[] = [];
    const tap = new SampleTap({ place: 'output', ring: null, port: { postMessage: (batch: TappedSamples) => sent.push(batch) } as unknown as MessagePort }, rateHz, chunkFrames);
    const silent = new Float64Array(chunkFrames);
    for (let at = 0; at < rateHz; at += chunkFrames) tap.take([silent], [counting(at, chunkFrames)], 1, chunkFrames);
    expect(sent.length).toBeLessThanOrEqual(30);
    expect(sent.length).toBeGreaterThan(25);
    expect(sent.map(({ joined }) => joined)).toEqual([false, ...sent.slice(1).map(() => true)]);
    const samples = sent.flatMap(({ channels }) => Array.from(channels[0]!));
    expect(samples.every((sample, i) => sample === i)).toBe(true);
    tap.take([silent, silent], [silent, silent], 2, chunkFrames);
    for (let k = 0; k < 12; k += 1) tap.take([silent, silent], [silent, silent], 2, chunkFrames);
    expect([sent.at(-1)!.joined, sent.at(-1)!.channels.length]).toEqual([false, 2]);
  });
});

describe('in the player', () => {
  const doubling = planOf(pathOf([{ stage: 'harmonic-shaping', values: { makeUpDb: 6.020599913279624, secondSign: 'off', thirdSign: 'off' } }], { oversamplingFactor: 1 }));
  const player = (...messages: ToProcessor[]): { readonly player: BenchPlayer; run(frames: number): void } => {
    const made = new BenchPlayer({ plan: doubling, revision: 1, trialIn: true, monitorGain: 0.1, meters: null, modules: [] }, rateHz, () => undefined);
    const output = [new Float32Array(chunkFrames), new Float32Array(chunkFrames)];
    const run = (frames: number): void => { for (let at = 0; at < frames; at += chunkFrames) made.render(output, chunkFrames); };
    run(20 * chunkFrames);
    for (const message of messages) made.take(message);
    return { player: made, run };
  };
  const loop: ToProcessor = { kind: 'programme', channels: [sine(1000, 0.9, 4800)], region: { startFrame: 0, endFrame: 4800 }, frame: 0 };
  const largest = (samples: Float64Array, frames: number): number => samples.subarray(0, frames).reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);

  it.each<[TapPlace, number]>([['output', 1.8], ['input', 0.9]])('takes the %s at its own level: no ramp, no monitor level, no limiter', (place, peak) => {
    const { memory, reader } = ringPair();
    const { player: made, run } = player(loop, { kind: 'tap', tap: { place, ring: memory, port: null } }, { kind: 'play' });
    run(4800);
    const taken = reader.read()!;
    expect(taken.frames).toBe(4864);
    expect(largest(taken.channels[0]!, taken.frames)).toBeCloseTo(peak, 6);
    made.take({ kind: 'pause' });
    run(rateHz);
    reader.read();
    run(4800);
    expect(reader.read()).toBeNull();
    made.take({ kind: 'play' });
    run(1280);
    expect(reader.read()!.joined).toBe(false);
    made.take({ kind: 'tap', tap: null });
    run(4800);
    expect(reader.read()).toBeNull();
  });

  it('gives nothing away in a blind comparison', () => {
    const { memory, reader } = ringPair();
    const { port1 } = new MessageChannel();
    port1.close();
    const { player: made, run } = player(loop, { kind: 'tap', tap: { place: 'output', ring: memory, port: null } }, { kind: 'play' });
    run(4800);
    reader.read();
    made.take({ kind: 'blind', port: port1 });
    run(4800);
    expect(reader.read()).toBeNull();
    made.take({ kind: 'sighted', trialIn: true });
    run(4800);
    expect(reader.read()!.joined).toBe(false);
  });
});
