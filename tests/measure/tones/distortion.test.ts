import { describe, expect, it } from 'vitest';
import { nearestOddCycles, SeededRandom } from '../../../dsp/math/index.ts';
import {
  distortionAndNoise, meterDistortion, meterDistortionAndNoise, notchPower, notchQ, ordersBelow, standardNotch, type DistortionAndNoiseReading, type DistortionReading, type Metered,
} from '../../../dsp/measure/tones/index.ts';
import { check, checksOf, expectWithin, numberInput, numbersInput } from '../../reference/checks.ts';
import { harmonicsOf, passThrough, type SyntheticDevice } from '../../support/synthetic-device.ts';

function reading<R>(metered: Metered<R>): R {
  if (metered.refusal !== undefined) throw new Error(metered.refusal);
  return metered as R;
}

const frames = 4096;
/** Whole cycles of a cosine. */
const cosine = (peak: number, cycles: number, length = frames): Float64Array => Float64Array.from({ length }, (_, i) => peak * Math.cos((2 * Math.PI * ((cycles * i) % length)) / length));
/** A tone of so many cycles in the 4096 samples of a period at 4096 Hz: its frequency is its cycles. */
const period = (samples: Float64Array) => ({ samples, rateHz: samples.length, repeats: true as const });
const upToNine = [2, 3, 4, 5, 6, 7, 8, 9];
const ninth: SyntheticDevice = { coefficients: [0.7, 1.2, 0.03, -0.02, 0.004, 0.006, -0.001, 0.002, 0.0005, -0.0008] };

const distortionOf = (samples: Float64Array, cycles: number, orders: readonly number[] = upToNine): DistortionReading => reading(meterDistortion(period(samples), cycles, orders));

describe('harmonic distortion of a synthetic device of order nine', () => {
  const peak = 0.9;
  const known = harmonicsOf(ninth, peak);
  const measured = distortionOf(passThrough(ninth, cosine(peak, 37)), 37);

  it('every harmonic, signed; the mean; F and R', () => {
    expect(Math.abs(measured.dcVolts / known[0]! - 1) <= 1e-12).toBe(true);
    expect(Math.abs(measured.fundamental.peakVolts / Math.abs(known[1]!) - 1) <= 1e-12).toBe(true);
    for (const { order, signedRatio } of measured.harmonics) expect(Math.abs(signedRatio - known[order]! / known[1]!) <= 1e-13, `H${order}`).toBe(true);
    const f = Math.hypot(...known.slice(2)) / Math.abs(known[1]!);
    expect(Math.abs(measured.thd.f / f - 1) <= 1e-11).toBe(true);
    expect(Math.abs(measured.thd.r / (f / Math.hypot(1, f)) - 1) <= 1e-11).toBe(true);
  });

  it('weighted by order', () => {
    const weighted = (weight: (n: number) => number): number => Math.hypot(...known.slice(2).map((a, k) => a * weight(k + 2))) / Math.abs(known[1]!);
    expect(Math.abs(measured.weighted.halfOrder / weighted((n) => n / 2) - 1) <= 1e-11).toBe(true);
    expect(Math.abs(measured.weighted.orderSquared / weighted((n) => (n * n) / 4) - 1) <= 1e-11).toBe(true);
  });

  it('of a stretch, through a window, to −90 dB of the fundamental', () => {
    const samples = passThrough(ninth, Float64Array.from({ length: 20_011 }, (_, i) => peak * Math.cos(2 * Math.PI * 0.0123456 * i + 1)));
    const stretch = reading(meterDistortion({ samples, rateHz: 1, repeats: false }, 0.0123456, upToNine));
    for (const { order, signedRatio } of stretch.harmonics) expect(Math.abs(signedRatio - known[order]! / known[1]!) <= 3e-5, `H${order}: ${signedRatio}`).toBe(true);
  });
});

describe('weighting, through the meter', () => {
  const shape = (harmonics: readonly number[]): Float64Array => {
    const parts = harmonics.map((amplitude, k) => cosine(amplitude, 11 * (k + 1)));
    return Float64Array.from({ length: frames }, (_, i) => parts.reduce((sum, part) => sum + part[i]!, 0));
  };
  it('WT-RMA and WT-SHORTER', () => {
    const rma = check('WT-RMA');
    const { weighted } = distortionOf(shape(numbersInput(rma, 'H')), 11, [2, 3, 4, 5]);
    expectWithin(rma, weighted.halfOrder);
    expectWithin(check('WT-SHORTER'), weighted.orderSquared);
  });
  it('WT-SHORTER-DB: of each order alone', () => {
    const entry = check('WT-SHORTER-DB');
    expectWithin(entry, numbersInput(entry, 'n').map((order) => {
      const harmonics = new Array<number>(order).fill(0);
      [harmonics[0], harmonics[order - 1]] = [1, 0.01];
      const { weighted, thd } = distortionOf(shape(harmonics), 11);
      return 20 * Math.log10(weighted.orderSquared / thd.f);
    }));
  });
});

describe('the curve', () => {
  it.each(checksOf('GM-').filter(({ tolerance }) => tolerance.type !== 'info'))('$id: curvature from the harmonics of a cosine of peak 1', (entry) => {
    const { curvature } = distortionOf(passThrough({ coefficients: [0, 1, numberInput(entry, 'k2'), numberInput(entry, 'k3')] }, cosine(1, 5)), 5);
    expectWithin(entry, curvature!.root);
    expect(Math.abs(curvature!.square / curvature!.root ** 2 - 1) <= 1e-12).toBe(true);
  });

  it('does not change with the level of the output, nor with its polarity', () => {
    const of = (gain: number): number => distortionOf(passThrough({ coefficients: [0, gain, 0.1 * gain, 0.05 * gain] }, cosine(1, 5)), 5).curvature!.root;
    expect(Math.abs(of(-20) / of(1) - 1) <= 1e-9).toBe(true);
  });

  it('has none where it is flat in its middle', () => {
    expect(distortionOf(passThrough({ coefficients: [0, 0, 0, 1] }, cosine(1, 5)), 5).curvature).toBeNull();
  });
});

describe('distortion and noise', () => {
  it('AES17-NOTCH: band, tone, and a Q inside the standard\'s', () => {
    const { lowestQ, highestQ, bandHz, usualHz } = standardNotch;
    expectWithin(check('AES17-NOTCH'), [lowestQ, highestQ, ...bandHz, usualHz]);
    expect(notchQ >= lowestQ && notchQ <= highestQ).toBe(true);
  });

  it('AES17-NOTCH-LOSS: what the notch takes off the second and third harmonic, through the meter', () => {
    const entry = check('AES17-NOTCH-LOSS');
    const rateHz = 65_536;
    const lossOf = (order: number): number => {
      const samples = Float64Array.from({ length: rateHz }, (_, i) => Math.cos((2 * Math.PI * 1000 * i) / rateHz) + 0.001 * Math.cos((2 * Math.PI * order * 1000 * i) / rateHz));
      const { standard, ideal } = reading(meterDistortionAndNoise({ samples, rateHz, repeats: true }, 1000));
      return standard.db - ideal.db;
    };
    expectWithin(entry, [lossOf(2), lossOf(3)]);
    expectWithin(entry, [2, 3].map((order) => 10 * Math.log10(notchPower(order, 1, numberInput(entry, 'Q')))));
  });

  /** White noise of rms 1e-4 in 20 Hz – 20 kHz, and harmonics of −60 and −70 dB, as the check says. */
  const entry = check('THDN-CHECK');
  const [second, third] = [numberInput(entry, 'H2_dB'), numberInput(entry, 'H3_dB')].map((db) => 10 ** (db / 20));
  const noiseRms = 10 ** (numberInput(entry, 'noise_rms_dB') / 20) / Math.SQRT2;

  it('THDN-CHECK: of lines and a density of noise', () => {
    const density = noiseRms ** 2 / 19_980;
    const { ideal } = distortionAndNoise({
      fundamentalHz: 1000, fundamentalVolts: 1, lines: [{ hz: 2000, peakVolts: second! }, { hz: 3000, peakVolts: third! }, { hz: 30_000, peakVolts: 1 }],
      noise: { hz: [20, 1000, 20_000, 200_000], density: Float64Array.of(density, density, density, density) },
    });
    expectWithin(entry, ideal.db, { type: 'abs', value: 1e-6 });
  });

  it('THDN-CHECK: of a record with noise in it, the tone beside every line', () => {
    const rateHz = 48_000;
    const random = new SeededRandom(20261126);
    const wideRms = noiseRms * Math.sqrt(rateHz / 2 / 19_980);
    const hz = 997.3;
    const samples = Float64Array.from({ length: 4 * rateHz }, (_, i) => {
      const turn = (2 * Math.PI * hz * i) / rateHz + 0.4;
      return Math.cos(turn) + second! * Math.cos(2 * turn) + third! * Math.cos(3 * turn) + wideRms * random.nextGaussian();
    });
    const { ideal, standard } = reading(meterDistortionAndNoise({ samples, rateHz, repeats: false }, hz));
    expectWithin(entry, ideal.db);
    // Mostly second harmonic: the notch takes 0.46 dB off it.
    expect(Math.abs(standard.db - ideal.db + 0.43) <= 0.05, `${standard.db - ideal.db}`).toBe(true);
  });

  it('of a clean tone beside every line reads under −120 dB: its own leak is not noise', () => {
    const samples = Float64Array.from({ length: 100_000 }, (_, i) => 2 * Math.cos((2 * Math.PI * 997.3 * i) / 48_000 + 0.4) + 3);
    expect(reading(meterDistortionAndNoise({ samples, rateHz: 48_000, repeats: false }, 997.3)).ideal.db <= -120).toBe(true);
  });

  it('COH-997: harmonics below half the rate, and the nearest odd number of cycles gives every harmonic a line of its own', () => {
    const coherent = check('COH-997');
    const [rateHz, length] = [numberInput(coherent, 'fs'), numberInput(coherent, 'N')];
    const { cycles, frequencyHz } = nearestOddCycles(997, rateHz, length);
    // Counting the fundamental.
    expectWithin(coherent, [cycles, 1 + ordersBelow(frequencyHz, rateHz / 2).length]);
    const samples = passThrough(ninth, cosine(1, cycles, length));
    const known = harmonicsOf(ninth, 1);
    for (const { order, ratio } of reading(meterDistortion({ samples, rateHz, repeats: true }, frequencyHz, upToNine)).harmonics) {
      expect(Math.abs(ratio - Math.abs(known[order]! / known[1]!)) <= 1e-12, `H${order}`).toBe(true);
    }
  });
});

describe('refusals', () => {
  const meters: [string, (record: { samples: Float64Array; rateHz: number; repeats: boolean; fullScale?: number }) => Metered<DistortionReading | DistortionAndNoiseReading>][] = [
    ['distortion', (record) => meterDistortion(record, 64, upToNine)],
    ['distortion and noise', (record) => meterDistortionAndNoise(record, 64)],
  ];
  const tone = cosine(1, 64);
  const fed: [string, Float64Array, number | undefined, RegExp][] = [
    ['silence', new Float64Array(frames), undefined, /^silence/],
    ['DC alone', new Float64Array(frames).fill(-2), undefined, /^DC alone, -2\.000/],
    ['NaN', tone.map((x, i) => (i === 9 ? NaN : x)), undefined, /^sample 9 is NaN/],
    ['infinity', tone.map((x, i) => (i === 0 ? Infinity : x)), undefined, /^sample 0 is Infinity/],
    ['clipped at full scale', tone.map((x) => Math.max(-0.9, Math.min(0.9, x))), 0.9, /^clipped: \d+ samples/],
    ['another tone', cosine(1, 65), undefined, /^no tone at 64 Hz/],
  ];
  it.each(meters.flatMap(([name, meter]) => fed.map(([what, samples, fullScale, sentence]) => [name, what, meter, samples, fullScale, sentence] as const)))('%s of %s: a sentence and no number', (_name, _what, meter, samples, fullScale, sentence) => {
    const answer = meter({ ...period(samples), ...(fullScale !== undefined && { fullScale }) });
    expect(answer.refusal).toMatch(sentence);
    expect(Object.keys(answer)).toEqual(['refusal']);
  });
});
