/** The player without Web Audio round it: transport, loop, region, tone, match. */
import { describe, expect, it } from 'vitest';
import { BenchPlayer, chunkFrames } from '../../worklets/audio/bench-player.ts';
import { planSides, type TrialPlan } from '../../dsp/path/index.ts';
import type { FromProcessor, ToProcessor } from '../../worklets/messages.ts';
import { firstDifference, nominalPeak, pathOf, planOf, rateHz, sine } from '../path/support.ts';

const straight = planOf(pathOf([], { oversamplingFactor: 1 }));

class Bench {
  readonly heard: FromProcessor[] = [];
  readonly player: BenchPlayer;
  constructor(plan: TrialPlan = straight, trialIn = true) {
    this.player = new BenchPlayer({ plan, revision: 1, trialIn, monitorGain: 1, meters: null, modules: [] }, rateHz, (message) => this.heard.push(message));
    this.run(20 * chunkFrames);
  }
  /** Blocks of a size of its own. */
  run(frames: number, block = chunkFrames): Float32Array {
    const left = new Float32Array(frames);
    const right = new Float32Array(frames);
    for (let at = 0; at < frames; at += block) {
      const end = Math.min(frames, at + block);
      this.player.render([left.subarray(at, end), right.subarray(at, end)], end - at);
    }
    return left;
  }
  take(...messages: ToProcessor[]): this {
    for (const message of messages) this.player.take(message);
    return this;
  }
  kinds(): string[] {
    return this.heard.map(({ kind }) => kind);
  }
}

/** Every sample tells its frame: n/10000. */
const counting = (frames: number): Float64Array => Float64Array.from({ length: frames }, (_, i) => i / 10_000);
const whole = (frames: number) => ({ startFrame: 0, endFrame: frames });
/** Frame of the loop that a sample of the counting loop came from. */
const frameOf = (sample: number): number => Math.round(sample * 10_000);
const rampFrames = 0.2 * rateHz;

function playing(loop: Float64Array, region = whole(loop.length)): Bench {
  const bench = new Bench().take({ kind: 'programme', channels: [loop], region, frame: 0 }, { kind: 'play' });
  bench.run(rampFrames);
  return bench;
}

describe('playing', () => {
  it('is silent until asked, says when it is warm, and rises over 200 ms without a jump', () => {
    const bench = new Bench();
    expect(bench.kinds()).toEqual(['began', 'ready']);
    bench.take({ kind: 'programme', channels: [new Float64Array(1000).fill(0.5)], region: whole(1000), frame: 0 });
    expect(bench.run(1280).every((sample) => sample === 0)).toBe(true);
    bench.take({ kind: 'play' });
    const rising = bench.run(rampFrames);
    rising.forEach((sample, i) => { if (Math.abs(sample - (0.5 * (i + 1)) / rampFrames) > 1e-6) throw new Error(`frame ${i}: ${sample}`); });
  });

  it('wraps to the sample at the end of the region, whatever the block', () => {
    for (const block of [128, 256, 100]) {
      const bench = new Bench().take({ kind: 'programme', channels: [counting(7000)], region: { startFrame: 300, endFrame: 1301 }, frame: 300 }, { kind: 'play' });
      bench.run(rampFrames, block);
      const heard = bench.run(5000, block);
      heard.forEach((sample, i) => {
        const expected = 300 + ((rampFrames + i) % 1001);
        if (frameOf(sample) !== expected) throw new Error(`frame ${i}: heard ${frameOf(sample)}, expected ${expected}`);
      });
    }
  });

  it('pauses within 10 ms, says so, and goes on where it stopped', () => {
    const bench = playing(counting(9000).map((sample) => sample + 0.05));
    const frameAt = (sample: number): number => frameOf(sample - 0.05);
    bench.take({ kind: 'pause' });
    const falling = bench.run(rateHz / 10);
    const lastSound = falling.findLastIndex((sample) => sample !== 0);
    expect(lastSound).toBeLessThan(0.01 * rateHz);
    expect(bench.kinds()).toContain('quiet');
    const stoppedAt = bench.player.meters.positionFrame;
    bench.run(12_800);
    bench.take({ kind: 'play' });
    bench.run(rampFrames);
    expect(frameAt(bench.run(1)[0]!)).toBe((stoppedAt + rampFrames) % 9000);
  });

  it('silences within 50 ms in every state, also while starting and while a tone plays', () => {
    const starting = new Bench().take({ kind: 'programme', channels: [counting(9000)], region: whole(9000), frame: 0 }, { kind: 'play' });
    starting.run(1280);
    const tone = new Bench().take({ kind: 'tone', tone: { frequencyHz: 1000, peak: 0.1 } });
    tone.run(12_800);
    for (const bench of [starting, tone, playing(counting(9000))]) {
      bench.take({ kind: 'pause' });
      bench.run(0.05 * rateHz);
      expect(bench.run(2560).every((sample) => sample === 0)).toBe(true);
    }
  });

  it('keeps its position through a switch, a change of plan and of monitor level', () => {
    const loop = counting(5000);
    const bench = playing(loop);
    bench.take({ kind: 'switch', trialIn: false }, { kind: 'monitor', gain: 0.5 });
    bench.player.takePlan({ revision: 2, plan: planOf(pathOf([], { oversamplingFactor: 1, fullScaleDbu: 22 })) });
    bench.run(12_800);
    expect(frameOf(2 * bench.run(1)[0]!)).toBe((rampFrames + 12_800) % 5000);
    expect(bench.kinds()).toEqual(expect.arrayContaining(['switched', 'landed']));
  });

  it('goes to a place by a dip of 10 ms, not by a jump', () => {
    const bench = playing(new Float64Array(9000).fill(0.5));
    bench.take({ kind: 'seek', frame: 4000 });
    const heard = bench.run(9600);
    let steepest = 0;
    for (let i = 1; i < heard.length; i += 1) steepest = Math.max(steepest, Math.abs(heard[i]! - heard[i - 1]!));
    // 0.5 in 480 frames.
    expect(steepest <= 0.5 / 480 + 1e-6).toBe(true);
    expect(Math.min(...heard)).toBe(0);
    expect(heard[heard.length - 1]).toBe(0.5);
    expect(playing(counting(9000)).take({ kind: 'seek', frame: 4000 }).run(480).some((sample) => frameOf(sample) > 4000)).toBe(false);
  });

  it('runs a mono loop once and a stereo loop on both channels', () => {
    const bench = new Bench(planOf(pathOf(['push-pull'])));
    bench.take({ kind: 'programme', channels: [sine(1000, nominalPeak, 4800)], region: whole(4800), frame: 0 }, { kind: 'play' });
    const before = bench.player.meters.meanEvaluations;
    const left = new Float32Array(12_800);
    const right = new Float32Array(12_800);
    for (let at = 0; at < 12_800; at += 128) bench.player.render([left.subarray(at, at + 128), right.subarray(at, at + 128)], 128);
    expect(firstDifference(Float64Array.from(left), Float64Array.from(right))).toBe(-1);
    expect(bench.player.meters.meanEvaluations).toBeGreaterThan(before);
    bench.take({ kind: 'programme', channels: [sine(1000, nominalPeak, 4800), new Float64Array(4800)], region: whole(4800), frame: 0 });
    for (let at = 0; at < 12_800; at += 128) bench.player.render([left.subarray(at, at + 128), right.subarray(at, at + 128)], 128);
    expect(left.subarray(6400).some((sample) => Math.abs(sample) > 0.05)).toBe(true);
    expect(right.subarray(6400).every((sample) => Math.abs(sample) < 1e-6)).toBe(true);
  });
});

describe('a new match gain', () => {
  const loop = new Float64Array(24_000).fill(0.5);

  it('waits while it plays, and is taken at the switch', () => {
    const bench = playing(loop);
    bench.take({ kind: 'match', inGain: 0.5, outGain: 0.25, serial: 4 });
    expect(bench.run(6400).every((sample) => sample === 0.5)).toBe(true);
    expect(bench.kinds()).not.toContain('match-applied');
    bench.take({ kind: 'switch', trialIn: false });
    bench.run(1280);
    expect(bench.heard).toContainEqual(expect.objectContaining({ kind: 'match-applied', serial: 4 }));
    expect(bench.run(128)[127]).toBe(0.125);
  });

  it('is taken at the start of the loop', () => {
    const bench = playing(loop);
    bench.take({ kind: 'match', inGain: 0.5, outGain: 1, serial: 1 });
    const heard = bench.run(loop.length);
    const firstQuieter = heard.findIndex((sample) => sample !== 0.5);
    expect(firstQuieter).toBeGreaterThanOrEqual(loop.length - rampFrames);
    expect(firstQuieter).toBeLessThan(loop.length - rampFrames + 256);
    expect(heard[heard.length - 1]).toBe(0.25);
  });

  it('is taken at once at rest, and at a pause', () => {
    const bench = new Bench().take({ kind: 'match', inGain: 0.5, outGain: 1, serial: 1 });
    expect(bench.kinds()).toContain('match-applied');
    const paused = playing(loop).take({ kind: 'match', inGain: 0.5, outGain: 1, serial: 2 }, { kind: 'pause' });
    expect(paused.kinds()).toContain('match-applied');
  });
});

describe('a tone', () => {
  it('takes the loop\'s place from silence over 200 ms, and gives it back where it was', () => {
    const loop = counting(9000);
    const bench = playing(loop);
    const positionBefore = bench.player.meters.positionFrame;
    bench.take({ kind: 'pause' }, { kind: 'tone', tone: { frequencyHz: 1000, peak: 0.1 } });
    bench.run(rampFrames + 960);
    const heard = bench.run(4800);
    expect(Math.abs(Math.max(...heard) - 0.1) <= 1e-4).toBe(true);
    let crossings = 0;
    for (let i = 1; i < heard.length; i += 1) if (heard[i - 1]! < 0 && heard[i]! >= 0) crossings += 1;
    expect(Math.abs(crossings - 100) <= 1).toBe(true);
    bench.take({ kind: 'tone', tone: null });
    expect(bench.run(4800).subarray(480).every((sample) => sample === 0)).toBe(true);
    // 10 ms of the loop went by while it fell silent.
    expect(bench.player.meters.positionFrame - positionBefore).toBeLessThanOrEqual(512);
  });
});

describe('what ears get', () => {
  const heardOf = (bench: Bench) => bench.heard.flatMap((message) => (message.kind === 'heard' ? [message] : []));

  it('is told behind the monitor level, once a second of sound and at its end', () => {
    const bench = playing(sine(1000, 0.1 * Math.SQRT2, 48_000)).take({ kind: 'monitor', gain: 0.1 });
    bench.run(3 * rateHz);
    bench.take({ kind: 'pause' });
    bench.run(rateHz);
    const heard = heardOf(bench);
    expect(Math.abs(10 * Math.log10(heard[2]!.leftSquareSeconds / heard[2]!.seconds) + 40) <= 1e-3).toBe(true);
    const seconds = heard.reduce((sum, message) => sum + message.seconds, 0);
    // To the chunk: 3.2 s and the fall.
    expect(Math.abs(seconds - 3.21) <= 0.01, `${seconds} s`).toBe(true);
  });

  it('includes the reference noise, during which the loop stands still; a tone of null ends it', () => {
    const bench = playing(counting(9000));
    bench.take({ kind: 'reference-noise', rms: 0.07 });
    bench.run(2 * rateHz);
    const [last] = heardOf(bench).slice(-1);
    expect(Math.abs(10 * Math.log10(last!.leftSquareSeconds / last!.seconds / 0.07 ** 2)) <= 1).toBe(true);
    const position = bench.player.meters.positionFrame;
    bench.take({ kind: 'pause' }, { kind: 'tone', tone: null });
    expect(bench.run(4800).subarray(600).every((sample) => sample === 0)).toBe(true);
    expect(bench.player.meters.positionFrame).toBe(position);
  });
});

describe('a sitting', () => {
  it('sounds by the gains that were measured after it went blind, and by no later ones', () => {
    const { port1 } = new MessageChannel();
    const bench = new Bench().take({ kind: 'programme', channels: [new Float64Array(1000).fill(0.5)], region: whole(1000), frame: 0 }, { kind: 'blind', port: port1 });
    bench.player.takeBlind({ kind: 'hear', trialIn: true });
    bench.take({ kind: 'match', inGain: 0.5, outGain: 1, serial: 1 }, { kind: 'play' });
    expect(bench.run(2 * rampFrames).at(-1)).toBeCloseTo(0.25, 6);
    bench.take({ kind: 'match', inGain: 0.1, outGain: 1, serial: 2 }, { kind: 'pause' });
    bench.run(rampFrames);
    bench.take({ kind: 'play' });
    expect(bench.run(2 * rampFrames).at(-1)).toBeCloseTo(0.25, 6);
    port1.close();
  });
});

describe('a blind comparison', () => {
  const loud = planOf(pathOf([{ stage: 'harmonic-shaping', values: { makeUpDb: 6 } }], { oversamplingFactor: 1 }));
  const { port1 } = new MessageChannel();
  port1.close();

  /** Plays 0.1 at both sides, and goes blind. */
  function blindBench(trialIn: boolean): Bench {
    const bench = new Bench(loud, trialIn).take({ kind: 'programme', channels: [sine(1000, 0.1, 9600)], region: whole(9600), frame: 0 }, { kind: 'play' }, { kind: 'blind', port: port1 });
    bench.run(2 * rampFrames);
    bench.heard.length = 0;
    return bench;
  }
  const peakOf = (samples: Float32Array): number => samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);

  it('switches by its own port alone, and the page hears the same of every switch: nothing', () => {
    const bench = blindBench(true);
    bench.take({ kind: 'switch', trialIn: false });
    expect(peakOf(bench.run(9600))).toBeGreaterThan(0.15);
    bench.player.takeBlind({ kind: 'hear', trialIn: false });
    bench.run(4800);
    expect(peakOf(bench.run(9600))).toBeLessThan(0.12);
    bench.player.takeBlind({ kind: 'hear', trialIn: false });
    bench.take({ kind: 'pause' }, { kind: 'play' }, { kind: 'seek', frame: 100 }, { kind: 'match', inGain: 0.5, outGain: 1, serial: 9 });
    bench.run(9600);
    bench.player.takeBlind({ kind: 'hear', trialIn: true });
    bench.run(9600);
    expect(bench.kinds().filter((kind) => kind !== 'quiet')).toEqual([]);
  });

  it('shows meters that are the same on both sides', () => {
    const metersOf = (trialIn: boolean) => {
      const bench = blindBench(true);
      bench.player.takeBlind({ kind: 'hear', trialIn });
      bench.run(9600);
      return { ...bench.player.meters };
    };
    expect(metersOf(true)).toEqual(metersOf(false));
  });

  it.each([true, false])('tells nothing of the side that sounded last, also when it ends with in %s', (sighted) => {
    const toldAfter = (trialIn: boolean): FromProcessor[] => {
      const bench = blindBench(true);
      bench.player.takeBlind({ kind: 'hear', trialIn });
      bench.run(9600);
      bench.take({ kind: 'pause' });
      bench.run(4800);
      bench.heard.length = 0;
      bench.take({ kind: 'sighted', trialIn: sighted });
      bench.run(4800);
      bench.take({ kind: 'play' });
      bench.run(9600);
      return bench.heard.filter(({ kind }) => kind !== 'heard');
    };
    expect(toldAfter(true)).toEqual(toldAfter(false));
  });

  it('gives back what the page says when it ends', () => {
    const bench = blindBench(true);
    bench.player.takeBlind({ kind: 'hear', trialIn: false });
    bench.take({ kind: 'sighted', trialIn: true });
    bench.run(4800);
    expect(peakOf(bench.run(9600))).toBeGreaterThan(0.15);
    bench.player.takeBlind({ kind: 'hear', trialIn: false });
    bench.run(4800);
    expect(peakOf(bench.run(9600))).toBeGreaterThan(0.15);
  });
});

describe('two paths as a pair', () => {
  const made = (makeUpDb: number, oversamplingFactor: 1 | 2 = 1) => pathOf([{ stage: 'harmonic-shaping', values: { makeUpDb } }], { oversamplingFactor });
  const pair = planSides({ path: made(6) }, { path: made(0, 2) }, rateHz);
  const peakOf = (samples: Float32Array): number => samples.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
  const started = (plan: TrialPlan): Bench => {
    const bench = new Bench(plan).take({ kind: 'programme', channels: [sine(1000, 0.1, 9600)], region: whole(9600), frame: 0 }, { kind: 'play' });
    bench.run(2 * rampFrames);
    return bench;
  };

  it('are heard by the switch that every trial has, as rendered', () => {
    const bench = started(pair);
    expect(Math.abs(peakOf(bench.run(9600)) - 0.1995) <= 0.002).toBe(true);
    bench.take({ kind: 'switch', trialIn: false });
    bench.run(4800);
    expect(Math.abs(peakOf(bench.run(9600)) - 0.1) <= 0.001).toBe(true);
    // Side by side with the same path alone: the same samples, later by what the pair waits for.
    const alone = new Bench(pair.out).take({ kind: 'programme', channels: [sine(1000, 0.1, 9600)], region: whole(9600), frame: 0 }, { kind: 'play' });
    const other = new Bench(pair).take({ kind: 'switch', trialIn: false }, { kind: 'programme', channels: [sine(1000, 0.1, 9600)], region: whole(9600), frame: 0 }, { kind: 'play' });
    const [expected, heard] = [alone.run(20_000), other.run(20_000)];
    expect(firstDifference(Float64Array.from(heard), Float64Array.from(expected, (sample) => pair.trialPolarity * sample + 0))).toBe(-1);
  });

  it('come in place of one path, and go again, without a break in the position', () => {
    const bench = started(planOf(made(6)));
    const at = bench.player.meters.positionFrame;
    bench.player.takePlan({ plan: pair, revision: 7 });
    bench.run(9600);
    expect(bench.player.meters.positionFrame).toBe(at);
    bench.take({ kind: 'switch', trialIn: false });
    bench.run(4800);
    expect(peakOf(bench.run(4800))).toBeLessThan(0.12);
    bench.player.takePlan({ plan: planOf(made(6)), revision: 8 });
    bench.take({ kind: 'switch', trialIn: true });
    bench.run(4800);
    expect(peakOf(bench.run(9600))).toBeGreaterThan(0.19);
    expect(bench.heard.flatMap((message) => (message.kind === 'landed' ? [message.revision] : []))).toEqual([7, 8]);
  });

  it('are told apart by nobody while compared blind; the worker chooses the side', () => {
    const { port1 } = new MessageChannel();
    port1.close();
    const metersOf = (trialIn: boolean) => {
      const bench = started(pair).take({ kind: 'blind', port: port1 });
      bench.run(4800);
      bench.heard.length = 0;
      bench.player.takeBlind({ kind: 'hear', trialIn });
      bench.run(9600);
      return { meters: { ...bench.player.meters }, told: bench.heard.slice(), peak: peakOf(bench.run(9600)) };
    };
    const [first, second] = [metersOf(true), metersOf(false)];
    expect([first.peak > 0.19, second.peak < 0.12]).toEqual([true, true]);
    expect(first.meters).toEqual(second.meters);
    expect([first.told, second.told]).toEqual([[], []]);
  });
});
