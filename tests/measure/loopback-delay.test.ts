/** The way from output to input, in ways made by hand: known delays, noise, a band, either polarity, clocks that differ, and what must be refused. */
import { describe, expect, it } from 'vitest';
import { SeededRandom } from '../../dsp/math/index.ts';
import { burstFrames, findLoopbackDelay, loopbackProbe, probeFrames, type LoopbackFinding } from '../../dsp/measure/index.ts';

const rateHz = 48_000;
const probe = loopbackProbe(rateHz);
const frames = probeFrames(probe);
const peak = 0.01;

/** A continuous-time reading of the burst: the probe as a band-limited function, at any time in frames. */
function burstAt(time: number, bandwidth: number): number {
  const reach = 64;
  const middle = Math.round(time);
  let sum = 0;
  for (let k = Math.max(0, middle - reach); k <= Math.min(burstFrames - 1, middle + reach); k += 1) {
    const x = time - k;
    const window = 0.5 + 0.5 * Math.cos((Math.PI * x) / (reach + 1));
    sum += probe.burst[k]! * window * (x === 0 ? bandwidth : Math.sin(Math.PI * bandwidth * x) / (Math.PI * x));
  }
  return sum;
}

interface Way {
  readonly delay: number;
  readonly gain?: number;
  /** Of half the rate. */
  readonly bandwidth?: number;
  readonly driftPpm?: number;
  readonly noise?: number;
  readonly offset?: number;
  readonly seed?: number;
  /** Added to the delay of each burst. */
  readonly jumps?: readonly number[];
}

function returned({ delay, gain = 1, bandwidth = 0.9, driftPpm = 0, noise = 0, offset = 0, seed = 1, jumps = [] }: Way): Float64Array {
  const random = new SeededRandom(seed);
  const recording = new Float64Array(frames);
  for (let burst = 0; burst < probe.bursts; burst += 1) {
    const start = burst * probe.spacingFrames;
    for (let i = Math.max(0, Math.floor(delay) - 70); i < Math.ceil(delay) + burstFrames + 70 && i < probe.spacingFrames; i += 1) {
      const time = i - delay - (jumps[burst] ?? 0) - (driftPpm / 1e6) * (start + i - frames / 2);
      recording[start + i] = gain * peak * burstAt(time, bandwidth);
    }
  }
  return recording.map((sample) => sample + offset + noise * random.nextGaussian());
}

function found(way: Way): Extract<LoopbackFinding, { kind: 'found' }> {
  const finding = findLoopbackDelay(returned(way), probe, peak);
  if (finding.kind !== 'found') throw new Error(`${JSON.stringify(way)}: ${finding.sentence}`);
  return finding;
}

describe('the sequence', () => {
  it('correlates with itself as 4095 at 0 and −1 everywhere else, round the circle', () => {
    const { burst } = probe;
    expect(burst.length).toBe(4095);
    for (const shift of [0, 1, 2, 3, 12, 100, 2047, 4094]) {
      let sum = 0;
      for (let i = 0; i < burst.length; i += 1) sum += burst[i]! * burst[(i + shift) % burst.length]!;
      expect(sum, `shift ${shift}`).toBe(shift === 0 ? 4095 : -1);
    }
  });
});

describe('the delay', () => {
  it.each([0, 1, 480, 480.25, 1023.5, 2311.77, 12_000.1, 23_990])('of %d frames is found to 0.01 frame', (delay) => {
    const { delayFrames, heard, inverted, spreadFrames } = found({ delay });
    expect(Math.abs(delayFrames - delay), `found ${delayFrames}`).toBeLessThan(0.01);
    expect([heard, inverted]).toEqual([4, false]);
    expect(spreadFrames).toBeLessThan(0.001);
  });

  it('is found through noise as loud as what comes back, to 0.1 frame', () => {
    for (const seed of [1, 2, 3]) {
      const { delayFrames, standsOutDb } = found({ delay: 1500.4, noise: peak, seed });
      expect(Math.abs(delayFrames - 1500.4), `seed ${seed}: found ${delayFrames}`).toBeLessThan(0.1);
      expect(standsOutDb).toBeGreaterThan(20);
    }
  });

  it('is found of what comes back 40 dB weaker, inverted, with an offset of the converter, and says so', () => {
    const { delayFrames, inverted, gainDb } = found({ delay: 700.3, gain: -0.01, offset: 0.02 });
    expect(Math.abs(delayFrames - 700.3)).toBeLessThan(0.01);
    expect(inverted).toBe(true);
    // 0.9 of the band comes back.
    expect(Math.abs(gainDb + 40.9), `${gainDb} dB`).toBeLessThan(0.3);
  });

  it.each([0.5, 0.2, 0.1])('is found through %d of the band, to 0.05 frame', (bandwidth) => {
    const { delayFrames } = found({ delay: 2000.6, bandwidth, noise: peak / 100 });
    expect(Math.abs(delayFrames - 2000.6), `found ${delayFrames}`).toBeLessThan(0.05);
  });

  it.each([100, -200])('with clocks %d ppm apart is that of the middle, and the drift is told to 2 ppm', (driftPpm) => {
    const { delayFrames, driftPpm: told } = found({ delay: 960, driftPpm, noise: peak / 30 });
    expect(Math.abs(told - driftPpm), `${told} ppm`).toBeLessThan(2);
    // The bursts lie before the middle of the whole record by a half of the silence after the last.
    expect(Math.abs(delayFrames - 960), `found ${delayFrames}`).toBeLessThan((Math.abs(driftPpm) / 1e6) * probe.spacingFrames);
  });

  it('is found where one burst was lost, and three are told of', () => {
    const recording = returned({ delay: 800, noise: peak / 10 });
    recording.fill(0, probe.spacingFrames, probe.spacingFrames + 5000);
    const finding = findLoopbackDelay(recording, probe, peak);
    expect(finding).toMatchObject({ kind: 'found', heard: 3, bursts: 4 });
  });
});

describe('what is refused, each in a sentence', () => {
  const why = (recording: Float64Array) => {
    const finding = findLoopbackDelay(recording, probe, peak);
    return finding.kind === 'refused' ? finding.why : `found ${finding.delayFrames}`;
  };
  const noiseOf = (seed: number) => {
    const random = new SeededRandom(seed);
    return new Float64Array(frames).map(() => 0.01 * random.nextGaussian());
  };

  it('silence, an overload, what is not a number', () => {
    expect(why(new Float64Array(frames))).toBe('silent');
    expect(why(returned({ delay: 500, gain: 200 }).map((sample) => Math.max(-1, Math.min(1, sample))))).toBe('clipped');
    expect(why(returned({ delay: 500 }).fill(NaN, 7, 8))).toBe('not-found');
  });

  it('noise alone, hum alone, music that has nothing to do with it', () => {
    for (let seed = 1; seed <= 8; seed += 1) expect(why(noiseOf(seed)), `seed ${seed}`).toBe('not-found');
    expect(why(Float64Array.from({ length: frames }, (_, i) => 0.3 * Math.sin((2 * Math.PI * 50 * i) / rateHz)))).toBe('not-found');
    expect(why(Float64Array.from({ length: frames }, (_, i) => 0.3 * Math.sin((2 * Math.PI * 220 * i) / rateHz) * Math.exp(-((i % 24_000) / 6000))))).toBe('not-found');
  });

  it('a delay beyond the longest, and one that jumps by a block between bursts', () => {
    const late = returned({ delay: 600 });
    const later = (by: number) => new Float64Array(frames).map((_, i) => late[i - by] ?? 0);
    // Partly within the search, and so late that every burst comes back after the next was played.
    expect(why(later(probe.longestDelayFrames))).toBe('not-found');
    expect(why(later(probe.spacingFrames))).toBe('not-found');
    expect(why(returned({ delay: 1000, jumps: [0, 0, 128, 128] }))).toBe('moved');
    expect(why(returned({ delay: 1000, jumps: [0, 2, 0, 2] }))).toBe('moved');
  });

  it('a recording that is too short is an error of the caller', () => {
    expect(() => findLoopbackDelay(new Float64Array(10), probe, peak)).toThrow(/expected \d+ recorded frames, got 10/);
  });
});
