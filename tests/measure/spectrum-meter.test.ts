/** The spectrum meter: tones on and between lines, noise, averaging, held peaks. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { SpectrumMeter, spectrumWindows, type SpectrumSettings, type SpectrumWindow } from '../../dsp/measure/spectrum-meter.ts';
import { spectrumPoints } from '../../dsp/measure/spectrum-points.ts';
import { SeededRandom } from '../../dsp/math/index.ts';
import { check, expectedNumbers } from '../reference/checks.ts';
import { rateHz, sine } from '../path/support.ts';

const standard: SpectrumSettings = { rateHz, size: 4096, window: 'hann', averaging: 'none', averages: 8, channels: 1 };
const meterOf = (change: Partial<SpectrumSettings>, ...channels: Float64Array[]): SpectrumMeter => {
  const meter = new SpectrumMeter({ ...standard, channels: channels.length === 2 ? 2 : 1, ...change });
  meter.push(channels, channels[0]!.length);
  return meter;
};
const db = (power: number): number => 10 * Math.log10(power);
/** Same tone, half a line and more away from every line. */
const onLine = (line: number, size = 4096): number => (line * rateHz) / size;
const noise = (frames: number, seed = 20261126): Float64Array => {
  const random = new SeededRandom(seed);
  // Uniform, of mean square 1/3.
  return Float64Array.from({ length: frames }, () => 2 * random.nextUnit() - 1);
};

/** Rows of the reference, by our names. */
const rows: Readonly<Record<SpectrumWindow, string>> = { rectangular: 'WIN-rect', hann: 'WIN-hann', 'blackman-harris': 'WIN-blackman-harris-4', 'flat-top': 'WIN-flattop-HFT90D' };

describe.each(spectrumWindows)('through a %s window', (window) => {
  const [bandwidth, half] = expectedNumbers(check(rows[window]));
  it('a tone on a line reads its level, at every size', () => {
    for (const size of [1024, 4096, 16_384] as const) {
      const meter = meterOf({ window, size }, sine(onLine(100, size), 0.1, size));
      // 1e-9 dB: rounding.
      if (!(Math.abs(db(meter.powers[100]!) + 20) <= 1e-9)) throw new Error(`${size}: ${db(meter.powers[100]!)} dB`);
    }
  });

  it('half a line off it reads what the window takes, and the tone’s own level between the lines', () => {
    const meter = meterOf({ window }, sine(onLine(400.5), 0.1, 4096));
    // 0.02 dB: the tone's mirror image, 800 lines away, under the rectangular window; 1e-4 dB else.
    const limit = window === 'rectangular' ? 0.02 : 1e-4;
    if (!(Math.abs(db(meter.powers[400]!) + 20 - half!) <= limit)) throw new Error(`${db(meter.powers[400]!) + 20} dB, expected ${half} dB`);
    fc.assert(fc.property(fc.double({ min: 350, max: 450, noNaN: true }), (line) => {
      const points = spectrumPoints(meterOf({ window }, sine(onLine(line), 0.1, 4096)), 'playing');
      const [tone] = points.tones;
      // A hundredth of a line and 0.01 dB; the rectangular window lets the mirror image through.
      const [hertz, level] = [tone!.hz - onLine(line), db(tone!.power) + 20];
      if (!(Math.abs(hertz) <= 0.02 * points.spacingHz && Math.abs(level) <= (window === 'rectangular' ? 0.03 : 0.01))) throw new Error(`line ${line}: ${hertz} Hz, ${level} dB off`);
    }), { seed: 20261126, numRuns: 30 });
  });

  it('lets noise through as wide as the reference says, and a density is that of the noise', () => {
    const meter = meterOf({ window, averaging: 'linear', size: 1024 }, noise(1024 * 400));
    expect(meter.noiseBandwidthHz / meter.spacingHz).toBeCloseTo(bandwidth!, 3);
    // Twice the mean square in 1 Hz: 2/3 over half the rate.
    const expected = (2 / 3) / (rateHz / 2);
    const inner = meter.powers.subarray(8, 504);
    const density = inner.reduce((sum, power) => sum + power, 0) / inner.length / meter.noiseBandwidthHz;
    // 0.05 dB: 400 × 496 values, each of a spread as large as itself.
    if (!(Math.abs(db(density / expected)) <= 0.05)) throw new Error(`${db(density / expected)} dB`);
  });

  it('sums noise to its own level in third octaves', () => {
    const { thirds } = spectrumPoints(meterOf({ window, averaging: 'linear' }, noise(4096 * 100)), 'playing');
    const band = thirds.find(({ centreHz }) => Math.round(centreHz) === 5012)!;
    const expected = ((2 / 3) * (band.toHz - band.fromHz)) / (rateHz / 2);
    // 0.2 dB: 100 lines, 100 transforms.
    if (!(Math.abs(db(band.power / expected)) <= 0.2)) throw new Error(`${db(band.power / expected)} dB`);
  });
});

describe('averaging', () => {
  /** Spread of the inner lines' powers re their mean. */
  const spread = ({ powers }: SpectrumMeter): number => {
    const inner = powers.subarray(8, powers.length - 8);
    const mean = inner.reduce((sum, power) => sum + power, 0) / inner.length;
    return Math.sqrt(inner.reduce((sum, power) => sum + (power / mean - 1) ** 2, 0) / inner.length);
  };

  // A power of noise is spread as widely as it is high; the mean of K apart is spread 1/√K; half-overlapped Hann windows have 1/36 of their variance in common with a neighbour each way
  // (Welch 1967): √((1 + 2/36)/K). An exponential mean of weight 1/N counts as (2 − 1/N) N apart.
  it.each<[string, Partial<SpectrumSettings>, number, number]>([
    ['none', { averaging: 'none' }, 40, 1],
    ['of all', { averaging: 'linear', window: 'rectangular' }, 40, 1 / Math.sqrt(40)],
    ['of all, overlapped', { averaging: 'linear' }, 40.5, Math.sqrt((1 + 2 / 36) / 80)],
    ['exponential', { averaging: 'exponential', averages: 8, window: 'rectangular' }, 100, 1 / Math.sqrt(15)],
  ])('%s: noise is spread as statistics say', (_, change, sizes, expected) => {
    const found = spread(meterOf({ size: 16_384, ...change }, noise(Math.round(16_384 * sizes))));
    // 3 %: 8,000 lines.
    if (!(Math.abs(found / expected - 1) <= 0.03)) throw new Error(`${found}, expected ${expected}`);
  });

  it('exponential is a mean from the first transform on, and forgets', () => {
    const meter = new SpectrumMeter({ ...standard, window: 'rectangular', averaging: 'exponential', averages: 4, size: 1024 });
    const tone = sine(onLine(50, 1024), 0.5, 1024);
    meter.push([tone], 1024);
    expect(db(meter.powers[50]!)).toBeCloseTo(db(0.25), 9);
    meter.push([new Float64Array(1024)], 1024);
    expect(meter.powers[50]).toBeCloseTo(0.125, 9);
    for (let k = 0; k < 40; k += 1) meter.push([new Float64Array(1024)], 1024);
    // The first shares are 1/2 and 1/3, all others 1/4.
    expect(db(meter.powers[50]!)).toBeCloseTo(db(0.25 * (1 / 2) * (2 / 3) * 0.75 ** 39), 6);
    expect(db(meter.held[50]!)).toBeCloseTo(db(0.25), 9);
    meter.restart();
    expect([meter.count, meter.held[50], meter.powers[50]]).toEqual([0, 0, 0]);
  });
});

describe('the stream', () => {
  it('is the same in blocks of any length, to the bit', () => {
    const samples = noise(20_000);
    const whole = meterOf({ averaging: 'linear' }, samples);
    const pieces = new SpectrumMeter({ ...standard, averaging: 'linear' });
    let transforms = 0;
    for (let at = 0, k = 0; at < samples.length; k += 1) {
      const count = Math.min([1, 128, 777, 5000][k % 4]!, samples.length - at);
      if (pieces.push([samples.subarray(at, at + count)], count)) transforms += 1;
      at += count;
    }
    expect(pieces.count).toBe(whole.count);
    expect(pieces.count).toBe(1 + Math.floor((20_000 - 4096) / 2048));
    expect(transforms).toBeGreaterThan(3);
    expect(pieces.powers).toEqual(whole.powers);
  });

  it('begins anew after a reset, and has the mean power of two channels', () => {
    const meter = meterOf({}, sine(1000, 1, 4000), sine(1000, 1, 4000));
    expect(meter.count).toBe(0);
    meter.reset();
    meter.push([sine(onLine(100), 0.2, 4096), new Float64Array(4096)], 4096);
    expect(meter.count).toBe(1);
    expect(db(meter.powers[100]!)).toBeCloseTo(db(0.04 / 2), 9);
  });

  it('reads a direct voltage and half the rate as they are', () => {
    const meter = meterOf({ window: 'rectangular' }, Float64Array.from({ length: 4096 }, (_, i) => 0.25 + (i % 2 === 0 ? 0.125 : -0.125)));
    expect(meter.powers[0]).toBeCloseTo(0.0625, 12);
    expect(meter.powers[2048]).toBeCloseTo(0.015625, 12);
  });
});

describe('what is shown', () => {
  it('keeps every tone, at its frequency, however few columns there are', () => {
    const two = sine(onLine(1500.2, 65_536), 0.1, 65_536).map((sample, i) => sample + 1e-4 * Math.sin((2 * Math.PI * 15_000 * i) / rateHz));
    const points = spectrumPoints(meterOf({ window: 'blackman-harris', size: 65_536 }, two), 'playing');
    expect(points.hertz.length).toBeLessThan(600);
    expect(points.tones).toHaveLength(2);
    expect(Math.abs(points.tones[1]!.hz - 15_000)).toBeLessThan(0.01);
    expect(Math.abs(db(points.tones[1]!.power) + 80)).toBeLessThan(0.01);
    const nearest = points.hertz.findIndex((hz) => Math.abs(hz - 15_000) < 1);
    expect(Math.abs(db(points.powers[nearest]!) + 80)).toBeLessThan(0.9);
    expect([...points.hertz].every((hz, k) => k === 0 || hz > points.hertz[k - 1]!)).toBe(true);
    expect(points.powers.every((power, k) => power >= points.means[k]! * (1 - 1e-12) && points.held[k]! >= power)).toBe(true);
  });

  it('takes no noise for a tone, nor what a window leaks', () => {
    expect(spectrumPoints(meterOf({ averaging: 'linear' }, noise(4096 * 20)), 'playing').tones).toEqual([]);
    for (const window of ['hann', 'blackman-harris', 'flat-top'] as const) expect(spectrumPoints(meterOf({ window }, sine(onLine(400.37), 0.5, 4096)), 'playing').tones).toHaveLength(1);
    expect(spectrumPoints(meterOf({}, new Float64Array(4096)), 'playing').tones).toEqual([]);
  });
});
