/** The shaping stage: what is asked for, nothing else, and what it says of itself. */
import { describe, expect, it } from 'vitest';
import { chooseFrequency, cosineDrive, cosineTable, projectHarmonics } from '../../dsp/circuit/index.ts';
import { createStageRunner, dbuToPeakVolts, defaultValues, resolveValues, stageById, steadyShaping } from '../../dsp/stages/index.ts';
import type { PolynomialProgram, StageValues } from '../../dsp/stages/index.ts';
import { staticOutput } from '../../dsp/stages/harmonic-shaping/law.ts';
import type { ShapingLaw } from '../../dsp/stages/harmonic-shaping/law.ts';
import { lowerEdgeHz, quadratureCoefficients, upperEdgeHz } from '../../dsp/stages/harmonic-shaping/quadrature.ts';
import { checksOf, check, numberInput } from '../reference/checks.ts';
import { noise, sine } from './support/signals.ts';
import { programOf, rateHz, toneThrough } from './support/tone.ts';

const id = 'harmonic-shaping';
const stage = stageById(id);
const shaping = (given: StageValues = {}): PolynomialProgram => programOf(id, given) as PolynomialProgram;
const off: StageValues = { secondSign: 'off', thirdSign: 'off' };

/** A law of one volt reference whose ceiling is far away. */
const plainLaw = (second: number, third: number): ShapingLaw => ({
  held: false, referencePeakVolts: 1, second, third, ceilingVolts: 1e3, kneeVolts: 1e3, floorVolts: 1e-3,
});

/** Mean, and signed cosine amplitudes of orders 1 … 3, of f(A cos t). */
function cosineSeries(f: (x: number) => number, amplitude: number): { mean: number; orders: number[] } {
  const wave = cosineTable(256).map((c) => f(amplitude * c));
  const { dcVolts, amplitudes, phases } = projectHarmonics(wave, 1, [1, 2, 3]);
  return { mean: dcVolts, orders: [...amplitudes].map((a, k) => a * Math.cos(phases[k]!)) };
}

function expectWithin(actual: number, expected: number, limit: number, what: string): void {
  const error = Math.abs(actual - expected);
  if (!(error <= limit)) throw new Error(`${what}: expected ${expected}, got ${actual}, error ${error}, limit ${limit}`);
}

describe('law against the reference rows', () => {
  it.each(checksOf('SHAPE-A').map((row) => ({ id: row.id, row })))('$id', ({ row }) => {
    const [h2, h3, amplitude] = ['h2', 'h3', 'A'].map((name) => numberInput(row, name)) as [number, number, number];
    // The row's third polynomial T3 = 4x³ − 3x takes 3 h3 of the small-signal gain; ours is the plain cubic, which keeps it.
    const { mean, orders } = cosineSeries((x) => staticOutput(plainLaw(h2, h3), x) - 3 * h3 * x, amplitude);
    const expected = row.expected as number[];
    [...orders, mean].forEach((value, k) => expectWithin(value, expected[k]!, 1e-13, `entry ${k}`));
  });

  it.each(checksOf('SHAPE-PEAKS').map((row) => ({ id: row.id, row })))('$id: both peaks of the stage with that sign', ({ row }) => {
    const ratio = (name: string): number => Math.abs(numberInput(row, name));
    const sign = (name: string): string => (numberInput(row, name) > 0 ? 'positive' : 'negative');
    const program = shaping({
      law: 'held', heldDownToDbu: -80, bandLimitHz: 40e3, secondSign: sign('h2'), thirdSign: sign('h3'),
      secondDb: 20 * Math.log10(ratio('h2')), thirdDb: 20 * Math.log10(ratio('h3')),
    });
    const peak = dbuToPeakVolts(4);
    const output = steadyShaping(program, cosineDrive(chooseFrequency(50, rateHz), peak));
    const [top, bottom] = row.expected as [number, number];
    // 3e-5: band limit's phase at 50 Hz (0.1°), DC blocking (1.1° of the second harmonic) and the floor 84 dB below.
    expectWithin(Math.max(...output) / peak, top, 3e-5, 'positive peak');
    expectWithin(Math.min(...output) / peak, bottom, 3e-5, 'negative peak');
  });

  it('SHAPE-SLOPE: the second rises 2 dB and the third 3 dB for each dB', () => {
    const [second, third] = check('SHAPE-SLOPE').expected as [number, number];
    const absolute = (tone: ReturnType<typeof toneThrough>, order: number): number => tone.outputDbu + tone.db[order]!;
    const low = toneThrough(shaping(), 200, -20);
    const high = toneThrough(shaping(), 200, 4);
    expectWithin((absolute(high, 2) - absolute(low, 2)) / 24, second, 1e-6, 'second');
    expectWithin((absolute(high, 3) - absolute(low, 3)) / 24, third, 1e-6, 'third');
  });

  it.each([2, 3])('CHEB-LEVEL: T%d of a smaller cosine', (n) => {
    for (const row of checksOf('CHEB-LEVEL')) {
      const amplitude = numberInput(row, 'A');
      const expected = (row.expected as number[][])[n - 2]!;
      // T2 = 2x² − 1 and T3 = 4x³ − 3x from the law's branch alone, by their published coefficients.
      const branch = (x: number): number => staticOutput(n === 2 ? plainLaw(1, 0) : plainLaw(0, 1), x) - x;
      const coefficients = check(`CHEB-T${n}`).expected as number[];
      const { orders } = cosineSeries((x) => branch(x) + coefficients[0]! + coefficients[1]! * x, amplitude);
      orders.forEach((value, k) => expectWithin(value, expected[k]!, 1e-12, `${row.id}, order ${k + 1}`));
    }
  });
});

describe.each([{ law: 'polynomial' }, { law: 'held' }])('$law law, a steady tone', (given) => {
  it.each([50, 100, 440, 1000, 3000, 5000])('adds second and third alone at %d Hz: all else under −120 dB', (hz) => {
    for (const amounts of [{}, { secondDb: -40, thirdDb: -40, ceilingDbu: 8 }, { secondDb: -30, thirdSign: 'off' }, { secondSign: 'off', thirdDb: -34, thirdSign: 'positive', ceilingDbu: 8 }]) {
      const tone = toneThrough(shaping({ ...given, ...amounts }), hz, 4);
      for (let order = 4; order <= 9; order += 1) expect(tone.db[order], `H${order}`).toBeLessThan(-120);
    }
  });

  it('gives each amount as asked at the reference level, whatever that is', () => {
    for (const referenceDbu of [-10, 4, 14]) {
      for (const [secondDb, thirdDb] of [[-60, -70], [-40, -46], [-80, -40]] as const) {
        const tone = toneThrough(shaping({ ...given, referenceDbu, secondDb, thirdDb, thirdSign: 'positive', heldDownToDbu: -80 }), 200, referenceDbu);
        // 0.01 dB: band limit (0.0001 dB at 200 Hz), DC blocking and the held law's floor 70 dB below.
        expectWithin(tone.db[2]!, secondDb, 0.01, 'second');
        expectWithin(tone.db[3]!, thirdDb, 0.01, 'third');
      }
    }
  });

  it('has the sign asked for', () => {
    for (const [secondSign, thirdSign] of [['positive', 'positive'], ['negative', 'positive'], ['positive', 'negative']] as const) {
      const tone = toneThrough(shaping({ ...given, secondSign, thirdSign }), 100, 4);
      expect(Math.sign(tone.harmonics[0]!.signedRatio)).toBe(secondSign === 'positive' ? 1 : -1);
      expect(Math.sign(tone.harmonics[1]!.signedRatio)).toBe(thirdSign === 'positive' ? 1 : -1);
      // Nearly all of the harmonic lies on that sign: 2 · 0.4° and 3 · 0.4° of phase at 100 Hz, 1° from DC blocking.
      expect(Math.abs(tone.harmonics[0]!.signedRatio) / tone.harmonics[0]!.ratio).toBeGreaterThan(0.999);
      expect(Math.abs(tone.harmonics[1]!.signedRatio) / tone.harmonics[1]!.ratio).toBeGreaterThan(0.999);
    }
  });

  it('has no gain at small signals', () => {
    const tone = toneThrough(shaping({ ...given, secondDb: -40, thirdDb: -40, ceilingDbu: 8 }), 1000, -76);
    expectWithin(tone.outputDbu, -76, 1e-6, 'dBu');
  });

  it('passes no direct current on, however loud', () => {
    expect(Math.abs(toneThrough(shaping({ ...given, secondDb: -40 }), 1000, 10).dcVolts)).toBeLessThan(1e-12);
  });

  it('is exactly transparent when both are off', () => {
    const input = noise(4000, 10, 20261125);
    const output = Float64Array.from(input);
    createStageRunner(shaping({ ...given, ...off }), 1).process([output], 0, output.length);
    expect(output).toEqual(input);
    expect(steadyShaping(shaping({ ...given, ...off }), input)).toEqual(input);
  });

  it('runs into the steady state that is computed for it', () => {
    const program = shaping({ ...given, secondDb: -40, thirdDb: -40, ceilingDbu: 8 });
    const wave = cosineDrive(chooseFrequency(1000, rateHz), 1.7);
    const expected = steadyShaping(program, wave);
    const running = createStageRunner(program, 1);
    const period = new Float64Array(wave.length);
    for (let k = 0; k < 1000; k += 1) {
      period.set(wave);
      running.process([period], 0, period.length);
    }
    // 1 s is 12 time constants of the DC blocking: 6e-6 of 17 mV are left.
    expect(Math.max(...period.map((y, n) => Math.abs(y - expected[n]!)))).toBeLessThan(1e-6);
  });

  it('stays below its ceiling on the way to any level', () => {
    const values = { ...given, secondDb: -46, thirdDb: -46, ceilingDbu: 10 };
    const input = sine(20_000, 220, dbuToPeakVolts(24));
    const output = Float64Array.from(input);
    createStageRunner(shaping(values), 1).process([output], 0, output.length);
    const branch = Math.max(...output.map((y, n) => Math.abs(y - input[n]!)));
    // The branch signal never passes 1.5 times the ceiling: at most 2 h2 s² and 4 h3 s³ of it, or (|h2| + |h3|) s.
    const a = (1.5 * dbuToPeakVolts(10)) / dbuToPeakVolts(4);
    const h = 10 ** (-46 / 20);
    expect(branch).toBeLessThan(1.05 * dbuToPeakVolts(4) * h * (2 * a * a + 4 * a * a * a));
  });
});

describe('held law', () => {
  it('keeps both amounts from +18 dBu down to 20 dB above its floor', () => {
    for (const dbu of [-16, -6, 4, 14, 18]) {
      const tone = toneThrough(shaping({ law: 'held', ceilingDbu: 20 }), 200, dbu);
      expectWithin(tone.db[2]!, -60, 0.05, `second at ${dbu} dBu`);
      expectWithin(tone.db[3]!, -70, 0.1, `third at ${dbu} dBu`);
    }
  });

  it('lets them fall below its floor, 3 dB for the second at the floor', () => {
    expectWithin(toneThrough(shaping({ law: 'held' }), 200, -36).db[2]!, -63, 0.05, 'at the floor');
    expectWithin(toneThrough(shaping({ law: 'held' }), 200, -66).db[2]!, -90, 0.2, '30 dB below');
  });

  it('keeps the fundamental exactly', () => {
    expectWithin(toneThrough(shaping({ law: 'held', secondDb: -40, thirdDb: -40 }), 200, 4).outputDbu, 4, 1e-6, 'dBu');
  });

  it('has a Hilbert pair within 1e-5 rad of 90° over its band at every rate of the ladder', () => {
    for (const rate of [48e3, 96e3, 192e3, 352.8e3, 384e3, 768e3]) {
      const coefficients = quadratureCoefficients(rate);
      for (let hz = lowerEdgeHz; hz <= upperEdgeHz; hz *= 1.01) {
        const w = (2 * Math.PI * hz) / rate;
        // Phase of (c − e^−jw)/(1 − c e^−jw), as atan2 of numerator times conjugate denominator.
        const phase = (c: number): number => Math.atan2(Math.sin(w) * (1 - c * c), c - Math.cos(w) + c * (1 - c * Math.cos(w)));
        const difference = coefficients.reduce((total, c, k) => total + (k % 2 === 0 ? phase(c) : -phase(c)), 0);
        const turns = Math.cos(difference);
        // At the base rate the warped band is five times as wide.
        const limit = rate < 96e3 ? 2e-5 : 1e-5;
        if (!(Math.abs(turns) <= limit)) throw new Error(`${rate} Hz, ${hz} Hz: cos of the phase difference ${turns}, limit ${limit}`);
      }
    }
  });
});

describe('what it refuses and says', () => {
  it('refuses a curve that turns over inside the headroom, with the reason', () => {
    // −40 dB of softening third turns over at +13.2 dBu without a ceiling; with one at +24 dBu it does so still.
    expect(() => resolveValues(stage, { thirdDb: -40, ceilingDbu: 24 })).toThrow(/rises throughout the headroom of \+24 dBu, got one that turns over at 1[23]\.\d dBu/);
    expect(resolveValues(stage, { thirdDb: -40, ceilingDbu: 8 })['thirdDb']).toBe(-40);
  });

  it('accepts softening thirds without a ceiling up to −61.6 dB', () => {
    // Monotone to +24 dBu: 12 h3 a² < 1 with a = +20 dB over the reference.
    const values = (thirdDb: number): StageValues => ({ ...defaultValues(stage), secondSign: 'off', thirdDb, ceilingDbu: 24 });
    expect(stage.refuse(values(-61.7))).toBeNull();
    expect(stage.refuse(values(-61.4))).toContain('turns over');
  });

  it('is monotone wherever it does not refuse', () => {
    for (const thirdDb of [-40, -50, -60, -70]) {
      for (const secondDb of [-30, -40, -60]) {
        for (const ceilingDbu of [4, 8, 12, 16, 24]) {
          const values = { ...defaultValues(stage), secondDb, thirdDb, ceilingDbu, bandLimitHz: 40e3 };
          if (stage.refuse(values) !== null) continue;
          // A ramp slow enough for the band limit, fast enough for the DC blocking to stand still: 10 ms from −17.4 V to 17.4 V.
          const frames = 3840;
          const ramp = Float64Array.from({ length: frames }, (_, n) => dbuToPeakVolts(24) * ((2 * n) / frames - 1));
          const runner = createStageRunner(stage.program(values, { rateHz, source: null }), 1);
          runner.process([new Float64Array(rateHz / 100).fill(ramp[0]!)], 0, rateHz / 100);
          runner.process([ramp], 0, frames);
          const falls = ramp.findIndex((y, n) => n > 200 && y < ramp[n - 1]!);
          expect(falls, JSON.stringify({ thirdDb, secondDb, ceilingDbu })).toBe(-1);
        }
      }
    }
  });

  it('refuses a held law whose curve would fold at every level', () => {
    expect(() => resolveValues(stage, { law: 'held', secondDb: -20, thirdDb: -20 })).toThrow('turns over');
  });

  it('refuses a ceiling below the level its amounts are stated for', () => {
    expect(() => resolveValues(stage, { referenceDbu: 10, ceilingDbu: 8 })).toThrow('ceilingDbu: expected at least the reference level, 10 dBu');
  });

  const reading = (values: StageValues, label: string): number => {
    const full = { ...defaultValues(stage), ...values };
    return stage.report(full, stage.program(full, { rateHz, source: null })).readings.find((candidate) => candidate.label === label)!.value;
  };

  it('shows the turnover level: +13.2 dBu for a softening third of −40 dB', () => {
    expectWithin(reading({ thirdDb: -40, secondSign: 'off', ceilingDbu: 8 }, 'turnover level'), 13.2, 0.2, 'dBu');
  });

  it('states the large-signal gain change, and makes it', () => {
    const values = { secondDb: -60, thirdDb: -40, ceilingDbu: 8 };
    const tone = toneThrough(shaping(values), 50, 4);
    expectWithin(reading(values, 'gain change at reference'), tone.outputDbu - 4, 1e-4, 'dB');
    expectWithin(tone.outputDbu - 4, -0.2567, 0.001, 'dB: 1 + 3 h3, h3 = −0.01/(1 + 0.03)');
  });

  it('states the branch phase, and has it', () => {
    for (const hz of [1000, 5000]) {
      const degrees = reading({ bandLimitHz: 8000 }, `branch phase at ${hz / 1000} kHz`);
      const tone = toneThrough(shaping({ bandLimitHz: 8000, secondSign: 'off', thirdSign: 'positive' }), hz, 4);
      // 0.2°: prewarping is exact at the limit only; the fundamental itself moves by 3 h3.
      expectWithin(((tone.harmonics[1]!.phaseDegrees - 3 * degrees + 540) % 360) - 180, 0, 0.3, `degrees at ${hz} Hz`);
    }
  });

  it('clips where its THD reaches 1 %', () => {
    const values = { ...defaultValues(stage), secondDb: -50 };
    const dbu = stage.clipOutputDbu(values, stage.program(values, { rateHz, source: null }))!;
    const tone = toneThrough(stage.program(values, { rateHz, source: null }), 1000, dbu);
    expectWithin(tone.thd.f, 0.01, 0.0001, `THD at ${dbu} dBu`);
  });
});
