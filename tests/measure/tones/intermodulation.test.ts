import { describe, expect, it } from 'vitest';
import {
  driveWave, intermodulationSignal, intermodulationSignals, meterIntermodulation, productsOfTwoTones, signalDrive, signalPeriod, type IntermodulationReading, type Metered,
} from '../../../dsp/measure/tones/index.ts';
import { check, expectWithin } from '../../reference/checks.ts';
import { drivenPeriod, passThrough, type SyntheticDevice } from '../../support/synthetic-device.ts';

const rateHz = 384_000;

function reading(metered: Metered<IntermodulationReading>): IntermodulationReading {
  if (metered.refusal !== undefined) throw new Error(metered.refusal);
  return metered;
}

/** What the meter reads of a device driven with a signal whose peaks add up to `peak`. */
function metered(id: string, device: SyntheticDevice, { peak = 1, rate = rateHz } = {}): IntermodulationReading {
  const signal = intermodulationSignal(id);
  const samples = drivenPeriod(device, signalDrive(signal, signalPeriod(signal, rate), rate, peak));
  return reading(meterIntermodulation({ samples, rateHz: rate, repeats: true }, signal, signalPeriod(signal, rate).hertz as [number, number]));
}

const ratioOf = ({ figures }: IntermodulationReading, id: string): number => {
  const found = figures.find((figure) => figure.id === id);
  if (!found) throw new Error(`no figure ${id}`);
  return found.ratio;
};

const squareLaw: SyntheticDevice = { coefficients: [0, 1, 0.02] };
const cubicLaw: SyntheticDevice = { coefficients: [0, 1, 0, 0.02] };

describe('test signals', () => {
  it('IMD-SIGNALS: tones and ratios', () => {
    const of = (id: string): number[] => {
      const { hertz, shares } = intermodulationSignal(id);
      return [...hertz, shares[0] / shares[1]];
    };
    expectWithin(check('IMD-SIGNALS'), [...of('smpte-60-7000'), ...of('smpte-250-8000'), ...of('twin-19-20')]);
  });

  it('hold their tones exactly in a period, at 48 and 44.1 kHz times any factor', () => {
    for (const rate of [48_000, 96_000, 384_000, 768_000, 44_100, 352_800, 705_600]) {
      for (const signal of intermodulationSignals) {
        const period = signalPeriod(signal, rate);
        expect(period.hertz, `${signal.id} at ${rate} Hz`).toEqual(signal.hertz);
        period.cycles.forEach((cycles, k) => expect(cycles * rate / period.frames).toBe(signal.hertz[k]));
        expect(period.frames).toBeLessThanOrEqual(19_200 * Math.max(1, rate / 384_000));
      }
    }
  });

  it('move by at most 1e-5 where no period of 65,536 samples holds them, and say to where', () => {
    // A prime rate: no common period shorter than a second.
    const rate = 96_001;
    for (const signal of intermodulationSignals) {
      const { frames, cycles, hertz } = signalPeriod(signal, rate);
      expect(frames).toBeLessThanOrEqual(65_536);
      hertz.forEach((hz, k) => {
        expect(hz).not.toBe(signal.hertz[k]);
        expect(Math.abs(hz - (cycles[k]! * rate) / frames) <= 1e-9).toBe(true);
        expect(Math.abs(hz / signal.hertz[k]! - 1) <= 1e-5, `${signal.id}: ${hz} Hz`).toBe(true);
      });
    }
    expect(metered('twin-19-20', squareLaw, { rate }).figures[0]!.ratio).toBeCloseTo(0.005, 9);
  });

  it('peak at what they are said to, 4:1 or 1:1', () => {
    for (const id of ['smpte-60-7000', 'twin-19-20', 'total-difference']) {
      const signal = intermodulationSignal(id);
      const wave = driveWave(signalDrive(signal, signalPeriod(signal, rateHz), rateHz, 2.5));
      // Both cosines begin at their peaks.
      expect(Math.abs(wave[0]! - 2.5) <= 1e-12).toBe(true);
      expect(Math.max(...wave.map(Math.abs)) <= 2.5 + 1e-12).toBe(true);
    }
  });
});

describe('figures of a synthetic device', () => {
  it('SMPTE-K2 and SMPTE-K3: arithmetic and rms sum', () => {
    const second = metered('smpte-60-7000', squareLaw);
    expectWithin(check('SMPTE-K2'), [ratioOf(second, 'second-arithmetic'), ratioOf(second, 'second-rms')]);
    const third = metered('smpte-60-7000', cubicLaw);
    expectWithin(check('SMPTE-K3'), [ratioOf(third, 'third-arithmetic'), ratioOf(third, 'third-rms')]);
    expect(ratioOf(third, 'second-arithmetic') < 1e-12).toBe(true);
  });

  it('CCIF-K2 and CCIF-K3: over the sum of the tones, and over one', () => {
    const second = metered('twin-19-20', squareLaw);
    expectWithin(check('CCIF-K2'), [ratioOf(second, 'second-over-sum'), ratioOf(second, 'second-over-one')]);
    const third = metered('twin-19-20', cubicLaw);
    expectWithin(check('CCIF-K3'), ratioOf(third, 'third-over-sum'));
    expect(ratioOf(third, 'third-over-one') / ratioOf(third, 'third-over-sum')).toBeCloseTo(2, 12);
    expect(ratioOf(third, 'third-rms-over-sum') / ratioOf(third, 'third-over-sum')).toBeCloseTo(Math.SQRT1_2, 12);
  });

  it('TDFD-K2K3: both difference tones by power', () => {
    expectWithin(check('TDFD-K2K3'), ratioOf(metered('total-difference', { coefficients: [0, 1, 0.02, 0.02] }), 'total-over-sum'));
  });

  it('SMPTE-VS-HD: modulation figures are 3.2 and 3.84 times the harmonics at the same peak, in the limit of little distortion', () => {
    const little = 1e-6;
    const second = ratioOf(metered('smpte-60-7000', { coefficients: [0, 1, little] }), 'second-arithmetic');
    const third = ratioOf(metered('smpte-60-7000', { coefficients: [0, 1, 0, little] }), 'third-arithmetic');
    // Harmonics of x + k x² and x + k x³ at peak 1: k/2 and k/4; 1e-5: what is left of the limit, and of rounding.
    expectWithin(check('SMPTE-VS-HD'), [second / (little / 2), third / (little / 4)], { type: 'rel', value: 1e-5 });
  });

  it('DIM-FREQS: nine products', () => {
    expectWithin(check('DIM-FREQS'), metered('dim-30', squareLaw).products.map(({ hz }) => hz).sort((a, b) => a - b));
  });

  it.each(['30', '100'])('DIM-K2-%s: square wave through its pole', (cutoff) => {
    expectWithin(check(`DIM-K2-${cutoff}`), ratioOf(metered(`dim-${cutoff}`, squareLaw), 'dynamic-rms'));
  });

  it('DIM-K3-30: little of a static cubic; at 9.8 MHz, so that the corners are there', () => {
    const fine = metered('dim-30', cubicLaw, { rate: 150 * 2 ** 16 });
    expectWithin(check('DIM-K3-30'), ratioOf(fine, 'dynamic-rms'));
    expect(ratioOf(fine, 'dynamic-odd') < 1e-9).toBe(true);
  });

  it('DIM-K2-IDEAL and DIM-K3-IDEAL: of an ideal square wave, which the signals do not have but the meter can be fed', () => {
    // A multiple of 42: every half period has the same number of samples.
    const frames = 65_520;
    const ideal = Float64Array.from({ length: frames }, (_, i) => {
      const turn = (i + 0.5) / frames;
      return 0.8 * Math.sign(Math.sin(2 * Math.PI * 21 * turn)) + 0.2 * Math.sin(2 * Math.PI * 100 * turn);
    });
    const of = (device: SyntheticDevice): number =>
      ratioOf(reading(meterIntermodulation({ samples: passThrough(device, ideal), rateHz: 150 * frames, repeats: true }, intermodulationSignal('dim-30'))), 'dynamic-rms');
    expectWithin(check('DIM-K2-IDEAL'), of(squareLaw));
    expectWithin(check('DIM-K3-IDEAL'), of(cubicLaw));
  });

  it('counts every product of both tones once, where a polynomial puts it', () => {
    // (a + b)³ with peaks 0.5: 2 f1 ± f2 and f1 ± 2 f2 of 3/4 · k3/8 each, harmonics of k3/4 · 1/8.
    const { products, tones } = metered('total-difference', { coefficients: [0.3, 1, 0, 0.02, 0.001] });
    const peakAt = (words: string): number => products.find((product) => product.words === words)!.peakVolts;
    for (const words of ['2 f1 − f2', '2 f2 − f1', '2 f1 + f2', '2 f2 + f1']) expect(Math.abs(peakAt(words) / (0.75 * 0.02 * 0.125) - 1) <= 1e-9, words).toBe(true);
    for (const words of ['3 f1', '3 f2']) expect(Math.abs(peakAt(words) / (0.25 * 0.02 * 0.125) - 1) <= 1e-9, words).toBe(true);
    // Of (a + b)⁴ at 2 f2 − 2 f1: 6/4 · a²b²/2 · … = (3/4) k4 a⁴.
    expect(Math.abs(peakAt('2 f2 − 2 f1') / (0.75 * 0.001 * 0.0625) - 1) <= 1e-9).toBe(true);
    expect(tones.map(({ hz }) => hz)).toEqual([8000, 11_950]);
    expect(new Set(products.map(({ hz }) => hz.toFixed(3))).size).toBe(products.length);
    expect(products.filter(({ belowTones }) => belowTones).every(({ hz }) => hz < 8000)).toBe(true);
    expect(products.some(({ words, belowTones }) => words === 'f2 − f1' && belowTones)).toBe(true);
  });

  it('knows all products of two tones: as many as there are pairs, none twice', () => {
    for (let order = 2; order <= 5; order += 1) {
      // |a| + |b| = order: 4·order pairs with signs, each frequency of two of them.
      expect(productsOfTwoTones([1000, 1_000_000.5], order, Infinity).filter((product) => product.order === order)).toHaveLength(2 * order);
    }
  });
});

describe('a record that goes on before and after', () => {
  it('is read through a window to 1e-4, whatever its tones miss of its lines', () => {
    const rate = 96_000;
    const signal = intermodulationSignal('smpte-250-8000');
    const turn = (hz: number, i: number): number => Math.cos((2 * Math.PI * hz * i) / rate + 0.3);
    const input = Float64Array.from({ length: 30_011 }, (_, i) => 0.8 * turn(250, i) + 0.2 * turn(8000, i));
    const read = reading(meterIntermodulation({ samples: passThrough(squareLaw, input), rateHz: rate, repeats: false }, signal));
    // 2 k2 A1 = 0.032 (SMPTE-K2); −92 dB leak of the tones.
    expect(Math.abs(ratioOf(read, 'second-arithmetic') / 0.032 - 1) <= 1e-3).toBe(true);
  });
});

describe('refusals', () => {
  const signal = intermodulationSignal('twin-19-20');
  const wave = driveWave(signalDrive(signal, signalPeriod(signal, rateHz), rateHz, 1));
  const refusalOf = (samples: Float64Array, fullScale?: number): string | undefined =>
    meterIntermodulation({ samples, rateHz, repeats: true, ...(fullScale !== undefined && { fullScale }) }, signal).refusal;
  it.each<[string, Float64Array, number | undefined, RegExp]>([
    ['silence', new Float64Array(384), undefined, /^silence/],
    ['no samples', new Float64Array(0), undefined, /^no samples/],
    ['DC alone', new Float64Array(384).fill(1.5), undefined, /^DC alone, 1\.500/],
    ['NaN', wave.map((x, i) => (i === 17 ? NaN : x)), undefined, /^sample 17 is NaN/],
    ['infinity', wave.map((x, i) => (i === 3 ? -Infinity : x)), undefined, /^sample 3 is -Infinity/],
    ['clipped at full scale', wave.map((x) => Math.max(-0.7, Math.min(0.7, x))), 0.7, /^clipped: \d+ samples in a row stand at full scale/],
    ['another tone', Float64Array.from({ length: 384 }, (_, i) => Math.cos((2 * Math.PI * i) / 384)), undefined, /^no tone at 19 kHz/],
  ])('%s: a sentence and no number', (_name, samples, fullScale, sentence) => {
    const answer = meterIntermodulation({ samples, rateHz, repeats: true, ...(fullScale !== undefined && { fullScale }) }, signal);
    expect(answer.refusal).toMatch(sentence);
    expect(Object.keys(answer)).toEqual(['refusal']);
  });

  it('reads a tone that only touches full scale, and one too short for its products not at all', () => {
    expect(refusalOf(wave, 1)).toBeUndefined();
    expect(meterIntermodulation({ samples: wave.slice(0, 300), rateHz, repeats: false }, signal).refusal).toMatch(/^too short/);
  });
});
