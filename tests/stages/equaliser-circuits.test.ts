/** Equalisers as circuits: the curve their values are meant for by hand calculation, what finite amplifiers and real coils make of it, and which node runs out first. */
import { describe, expect, it } from 'vitest';
import { resolveValues, stageById } from '../../dsp/stages/index.ts';
import type { StageValues } from '../../dsp/stages/index.ts';
import { expectNear, gainsDb, readingOf, reportOf } from './support/small-signal.ts';
import { programOf, rateHz, toneThrough } from './support/tone.ts';

/** x of the pot and what it puts into the leg: 0.1 % of it is left at either end. */
const travel = (position: number): number => 0.001 + 0.998 * position;

/** |H| in dB of a leg r + jX at the wiper, by the node equations: V at both inputs, Vin = V + R i (1 − x), Vout = V + R i x, V = (Z + x (1 − x) RV) i. */
function legDb(arm: number, pot: number, position: number, r: number, reactance: number): number {
  const x = travel(position);
  const within = r + x * (1 - x) * pot;
  return 20 * Math.log10(Math.hypot(within + arm * x, reactance) / Math.hypot(within + arm * (1 - x), reactance));
}

/** RL and build-out. */
const loadDb = 20 * Math.log10(10e3 / 10_047);
const hertz = [30, 60, 90, 97, 110, 200, 700, 2000, 3067, 5000, 9000, 15_000, 20_000];

describe('the bell', () => {
  /** An amplifier as good as the table has, and a gyrator whose resistor is far above RQ: 470 Ω · 1 MΩ · 0.84 nF = 0.395 H. */
  const nearlyIdeal: StageValues = { gainBandwidthHz: 2e7, legOhms: 470, gyratorOhms: 1e6, gyratorFarads: 0.84e-9, armOhms: 2200 };

  it('has the centre, amount and Q of a series resonance at the wiper', () => {
    const henries = 470 * 1e6 * 0.84e-9;
    const centre = 1 / (2 * Math.PI * Math.sqrt(henries * 6.8e-9));
    // The gyrator is RQ (1 + jω RG CG)/(1 + jω RQ CG): its resistance is RQ (1 + ω² RG CG RQ CG), 12 % more than RQ here.
    const omega = 2 * Math.PI * centre;
    const resistance = 470 * (1 + omega * omega * 1e6 * 0.84e-9 * 470 * 0.84e-9);
    const within = resistance + travel(0.8) * (1 - travel(0.8)) * 5000;
    expectNear(readingOf('equaliser-bell', 'centre', nearlyIdeal), centre, 0.005 * centre, 'centre, Hz');
    expectNear(readingOf('equaliser-bell', 'amount', nearlyIdeal), 20 * Math.log10((within + 2200 * travel(0.8)) / (within + 2200 * (1 - travel(0.8)))), 0.03, 'amount, dB');
    const q = Math.sqrt(henries / 6.8e-9) / (within + 2200 * (1 - travel(0.8)));
    expectNear(readingOf('equaliser-bell', 'Q', nearlyIdeal), q, 0.03 * q, 'Q');
    expectNear(readingOf('equaliser-bell', 'ringing time', nearlyIdeal), (2.2 * q) / centre, 0.04 * ((2.2 * q) / centre), 'T60, s');
  });

  it('has the figures of its default values: 396 mH, 3.07 kHz, +6.8 dB as meant, less as the gyrator’s own resistance leaves it', () => {
    expectNear(readingOf('equaliser-bell', 'inductance stood for'), 2200 * 100e3 * 1.8e-9, 1e-9, 'inductance, H');
    const { readings } = reportOf('equaliser-bell');
    expect(readings.find(({ label }) => label === 'centre')!.note).toContain('3.067 kHz');
    expect(readings.find(({ label }) => label === 'amount')!.note).toContain('6.83 dB');
    expect(readingOf('equaliser-bell', 'amount')).toBeLessThan(6.7);
  });

  it('cuts as it lifts, mirrored', () => {
    const lift = gainsDb('equaliser-bell', { ...nearlyIdeal, potPosition: 0.9 }, hertz);
    const cut = gainsDb('equaliser-bell', { ...nearlyIdeal, potPosition: 0.1 }, hertz);
    hertz.forEach((hz, k) => expectNear(lift[k]! - loadDb, loadDb - cut[k]!, 0.02, `${hz} Hz, dB`));
    for (const db of gainsDb('equaliser-bell', { ...nearlyIdeal, potPosition: 0.5 }, hertz)) expectNear(db, loadDb, 0.002, 'flat, dB');
  });

  it('strays further with slower amplifiers, and its curve shows by how much', () => {
    const difference = (gainBandwidthHz: number): number => Math.abs(readingOf('equaliser-bell', 'largest difference to ideal', { ...nearlyIdeal, gainBandwidthHz }));
    expect(difference(1e6)).toBeGreaterThan(3 * difference(2e7));
    const curve = stageById('equaliser-bell').curve!(resolveValues(stageById('equaliser-bell'), {}), rateHz);
    const [circuit, ideal, apart] = curve.traces;
    expect([circuit!.role, ideal!.role, apart!.role]).toEqual(['whole', 'ideal', 'difference']);
    const largest = apart!.db.reduce((most, db) => (Math.abs(db) > Math.abs(most) ? db : most));
    expectNear(largest, readingOf('equaliser-bell', 'largest difference to ideal'), 1e-9, 'dB');
    const circuitDb = gainsDb('equaliser-bell', {}, curve.hertz);
    circuit!.db.forEach((db, k) => expectNear(db, circuitDb[k]!, 1e-9, 'curve, dB'));
  });

  it('clips inside before its output does where the leg has more Q than the bell', () => {
    // 10 dB of lift at 3 kHz, while the leg's reactance of 7.6 kΩ carries the current of 1 kΩ arms: 16 times the input at U2, 3.1 times at U1.
    const given: StageValues = { armOhms: 1000, legOhms: 470, gyratorOhms: 1e6, gyratorFarads: 0.84e-9, potPosition: 1, outputLimitAmperes: 0.2, makeUpDb: 0 };
    const [main, inner] = ['headroom of U1', 'headroom of U2'].map((label) => readingOf('equaliser-bell', label, given));
    expect(main! - inner!, `${main} and ${inner} dB`).toBeGreaterThan(10);
    expect(reportOf('equaliser-bell', given).remarks.find(({ label }) => label === 'runs out first')!.words).toMatch(/^U2/);
    const centre = readingOf('equaliser-bell', 'centre', given);
    const program = programOf('equaliser-bell', given);
    // The node is at its rails at +4 dBu and that headroom; 3 dB below nothing shows, 3 dB above it does, though the output is 8 dB below its own rails.
    const below = toneThrough(program, centre, 4 + inner! - 3);
    const above = toneThrough(program, centre, 4 + inner! + 3);
    expect(below.thd.f).toBeLessThan(0.003);
    expect(above.thd.f).toBeGreaterThan(0.01);
    expect(above.outputDbu).toBeLessThan(23 - 7);
  });

  it('refuses a centre that its amplifiers cannot follow', () => {
    expect(() => resolveValues(stageById('equaliser-bell'), { gainBandwidthHz: 1e6, seriesFarads: 1e-10 })).toThrow(/gainBandwidthHz: expected at least 40 times the centre, 1\.01\d MHz for 25\.\d+ kHz.*got 1 MHz/);
  });
});

describe('the bell with an inductor', () => {
  it('is the curve of its resistor, coil and capacitor', () => {
    const given: StageValues = { windingFarads: 1e-12, gainBandwidthHz: 2e7 };
    const actual = gainsDb('equaliser-inductor', given, hertz);
    hertz.forEach((hz, k) => {
      const reactance = 2 * Math.PI * hz * 2.7 - 1 / (2 * Math.PI * hz * 1e-6);
      expectNear(actual[k]! - loadDb, legDb(2200, 1000, 0.8, 390 + 120, reactance), 0.01, `${hz} Hz, dB`);
    });
    expectNear(readingOf('equaliser-inductor', 'Q of the inductor'), (2 * Math.PI * 96.86 * 2.7) / 120, 0.01, 'Q');
    expectNear(readingOf('equaliser-inductor', 'resonance of the inductor'), 6530, 5, 'Hz');
  });

  it('gets its third harmonic from the core alone, a decibel a decibel, by Rayleigh’s law', () => {
    const given: StageValues = { core: 'hysteresis', coreRise: 0.02, saturationAmperes: 1, makeUpDb: 0 };
    const hz = 96;
    const tone = (values: StageValues, dbu: number) => toneThrough(programOf('equaliser-inductor', values), hz, dbu);
    const [loud, soft] = [tone(given, 0), tone(given, -10)];
    expectNear(loud.db[3]! - soft.db[3]!, 10, 0.5, 'rise of H3 over 10 dB');
    expect(tone({ ...given, core: 'ideal' }, 0).db[3]!).toBeLessThan(loud.db[3]! - 30);
    // A tenth of the law's constant, a tenth of the harmonic.
    expectNear(loud.db[3]! - tone({ ...given, coreRise: 0.002 }, 0).db[3]!, 20, 0.7, 'H3 by the constant of the core');
  });

  it('has a core whose room is told', () => {
    const { readings } = reportOf('equaliser-inductor', { core: 'hysteresis' });
    // By hand at the centre: the coil carries V/r', V = Vin − R i (1 − x); Vin 1.736 V peak, r' = 510 + 0.16 kΩ, R (1 − x) = 441 Ω: 1.56 mA, 16.1 dB below 10 mA.
    expectNear(readings.find(({ label }) => label === 'headroom of the core')!.value, 20 * Math.log10(10e-3 / (1.736 / (510 + 160.4 + 441))), 0.15, 'dB');
  });
});

describe('the shelves', () => {
  const given: StageValues = { gainBandwidthHz: 2e7 };
  const shelves = [
    { which: 'low', arm: 10e3, pot: 10e3, position: 0.75, r: 2200, turnover: (middle: number) => middle / (2 * Math.PI * 2200 * 470e3 * 8.2e-9) },
    { which: 'high', arm: 10e3, pot: 10e3, position: 0.7, r: 2200, turnover: (middle: number) => 1 / (2 * Math.PI * middle * 4.7e-9) },
  ] as const;

  it.each(shelves)('$which: amount and turnover by hand', ({ which, arm, pot, position, r, turnover }) => {
    const x = travel(position);
    const within = r + x * (1 - x) * pot;
    const [a, b] = [within + arm * x, within + arm * (1 - x)];
    expectNear(readingOf('equaliser-shelf', `${which} shelf, amount`, given), 20 * Math.log10(a / b), 0.08, 'amount, dB');
    const expected = turnover(Math.sqrt(a * b));
    expectNear(readingOf('equaliser-shelf', `${which} shelf, turnover`, given), expected, 0.02 * expected, 'turnover, Hz');
  });

  it('are flat in the middle of both pots', () => {
    for (const db of gainsDb('equaliser-shelf', { ...given, lowPosition: 0.5, highPosition: 0.5 }, hertz)) expectNear(db, loadDb, 0.002, 'dB');
  });
});
