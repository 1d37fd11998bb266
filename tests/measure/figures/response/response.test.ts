import { describe, expect, it } from 'vitest';
import { measurePath } from '../../../../dsp/measure/index.ts';
import { checksOf, expectedNumbers, expectWithin, numberInput } from '../../../reference/checks.ts';
import { capacitor, input, parsedOf, resistor } from '../../../support/circuits.ts';
import { cellOf, columnOf, figureOf, ofDocument, ofStages } from '../support.ts';

/** dB, degrees or a share: what the figures may be off where the closed form is exact; root finding stops at 1e-7 of an octave. */
const share = 1e-6;
const near = (actual: number, expected: number, limit: number, what: string): void => expect(Math.abs(actual - expected) <= limit, `${what}: expected ${expected} ± ${limit}, got ${actual}`).toBe(true);

const lowPassHz = 1 / (2 * Math.PI * 1000 * 10e-9);
const lowPass = parsedOf([input('in'), resistor('R', 'in', 'out', 1000), capacitor('C', 'out', 'ground', 10e-9)], ['out', 'ground']);

/** R, L in series and C across: resonance at f0, Q = √(L/C)/R. */
function resonant(q: number, f0: number) {
  const henries = 1 / (2 * Math.PI * f0) ** 2 / 1e-9;
  return parsedOf([
    input('in'), resistor('R', 'in', 'a', Math.sqrt(henries / 1e-9) / q), { kind: 'inductor', name: 'L', between: ['a', 'out'], henries }, capacitor('C', 'out', 'ground', 1e-9),
  ], ['out', 'ground']);
}

describe('response of a first-order low-pass', () => {
  const figure = figureOf('response', ofDocument(lowPass), { reference: 'absolute' });

  it('has the closed form of level, slope, phase and group delay', () => {
    const hertz = columnOf(figure, 1, 'frequency');
    const [db, slope, phase, delay] = ['level', 'slope', 'phase', 'group delay'].map((label) => columnOf(figure, 1, label));
    expect(hertz[0]).toBe(10);
    expect(hertz.at(-1)).toBe(200_000);
    hertz.forEach((hz, k) => {
      const x = hz / lowPassHz;
      near(db![k]!, -10 * Math.log10(1 + x * x), 1e-9, `dB at ${hz}`);
      // 20 log10 |H| over log2 f: −20 log10(2) x²/(1 + x²).
      near(slope![k]!, (-20 * Math.log10(2) * x * x) / (1 + x * x), 1e-6, `slope at ${hz}`);
      near(phase![k]!, (-180 / Math.PI) * Math.atan(x), 1e-9, `phase at ${hz}`);
      near(delay![k]!, 1 / (2 * Math.PI * lowPassHz * (1 + x * x)), 1e-9 * 1e-5 + 1e-12, `delay at ${hz}`);
    });
  });

  it('is 3 dB below 1 kHz where the closed form is, and says how far what runs is off', () => {
    // |H|² of 1 kHz halved: 1 + x² = 2 (1 + x1²).
    const edge = lowPassHz * Math.sqrt(2 * (1 + (1000 / lowPassHz) ** 2) - 1);
    near(cellOf(figure, 0, '3 dB below 1 kHz, upper', 'at') / edge, 1, share, 'edge');
    const hertz = columnOf(figure, 1, 'frequency');
    const [exact, running] = ['level', 'level as it runs'].map((label) => columnOf(figure, 1, label));
    const worst = hertz.reduce((most, hz, k) => (hz <= 20_000 ? Math.max(most, Math.abs(running![k]! - exact![k]!)) : most), 0);
    const said = Number(/at most [−+]([\d.]+) dB/.exec(figure.caption)?.[1]);
    near(said, worst, 5.1e-5, figure.caption);
    expect(worst).toBeLessThan(0.01);
  });
});

describe('response of a resonance', () => {
  it('peaks as the reference rows have it', () => {
    const rows = checksOf('RLC-Q-');
    expect(rows).toHaveLength(6);
    for (const row of rows) {
      const [q, ratio] = expectedNumbers(row);
      const figure = figureOf('response', ofDocument(resonant(q!, 20_000)), { fromHz: 100, reference: 'absolute' });
      // Re 1 kHz, which itself stands a little above 0 dB.
      const reference = cellOf(figure, 0, 'gain', 'value');
      near(cellOf(figure, 0, 'peak, re 1 kHz', 'value') + reference, numberInput(row, 'peak_dB'), 1e-6, `${row.id} height`);
      near(cellOf(figure, 0, 'peak, re 1 kHz', 'at') / (20_000 * ratio!), 1, 1e-5, `${row.id} place`);
    }
  });
});

describe('response of the equaliser', () => {
  const offs = Object.fromEntries([1, 2, 3, 4, 5, 6].map((n) => [`section${n}Kind`, 'off']));
  const shelf = (values: Readonly<Record<string, number | string>>) =>
    figureOf('response', ofStages([{ stage: 'equaliser', values: { ...offs, section1Kind: 'low-shelf', section1Hz: 1000, ...values } }]), { fromHz: 10, toHz: 150_000, reference: 'absolute' });

  it('has undershoot and steepest slope of steep shelves as the reference rows', () => {
    const rows = checksOf('SHELF2-DIP-');
    expect(rows.length).toBeGreaterThanOrEqual(5);
    for (const row of rows) {
      const figure = shelf({ section1Db: numberInput(row, 'boost_dB'), section1Order: 'second', section1Steepness: numberInput(row, 'S') });
      const dip = cellOf(figure, 0, 'undershoot, below the nearer side', 'value');
      const place = cellOf(figure, 0, 'undershoot, below the nearer side', 'at') / 1000;
      // Prominence is counted from 150 kHz, where the shelf still lies under its end: 0.002 dB is the rows' own tolerance.
      expectWithin(row, [-dip, place, Math.abs(cellOf(figure, 0, 'steepest slope', 'value'))]);
    }
  });

  it('has 0.31 dB of undershoot, 4.6 dB/octave and 0.95 octave of 3 dB/octave or more with zero and pole Q of 0.8 and 0.7 at +6 dB', () => {
    const figure = shelf({ section1Db: 6, section1Order: 'second-apart', section1ZeroQ: 0.8, section1PoleQ: 0.7 });
    near(cellOf(figure, 0, 'undershoot, below the nearer side', 'value'), 0.31, 0.005, 'undershoot');
    near(Math.abs(cellOf(figure, 0, 'steepest slope', 'value')), 4.6, 0.05, 'slope');
    near(cellOf(figure, 0, '3 dB/octave or more over', 'value'), 0.95, 0.005, 'octaves');
    expect(figure.caption).toContain('0.95 octaves with 3 dB/octave or more');
  });
});

describe('response of a path', () => {
  it('has the level that is measured at −60 dBu, with its polarity', () => {
    const subject = ofStages(['single-ended-bipolar', 'op-amp-integrated', 'push-pull']);
    const figure = figureOf('response', subject, { reference: 'absolute', fromHz: 1000, toHz: 1e4, perOctave: 1 });
    const measured = measurePath(subject.plan, { frequencyHz: 1000, peakVolts: 1e-3, scope: { kind: 'path' }, orders: [2] });
    if (measured.oscillates) throw new Error('oscillates');
    // 1e-4 dB: what the small signal's own curvature leaves.
    near(columnOf(figure, 1, 'level as it runs')[0]!, 20 * Math.log10(measured.fundamental.peakVolts / 1e-3), 1e-4, 'level');
    const turn = (columnOf(figure, 1, 'phase')[0]! - measured.fundamental.phaseDegrees) / 360;
    near(turn - Math.round(turn), 0, 0.01 / 360, 'phase, analogue against running');
  });

  it('of one stage is that of the stage alone', () => {
    const stages = ['single-ended-bipolar', 'push-pull'];
    const level = (key?: string) => columnOf(figureOf('response', ofStages(stages, key), { reference: 'absolute', perOctave: 1 }), 1, 'level');
    const [whole, first, second] = [level(), level('s1'), level('s2')];
    whole.forEach((db, k) => near(first[k]! + second[k]!, db, 1e-9, `point ${k}`));
  });

  it('refuses an empty range and a wire', () => {
    expect(() => figureOf('response', ofDocument(lowPass), { fromHz: 2000, toHz: 1000 })).toThrow('expected a highest above the lowest, got 2 kHz to 1 kHz');
    expect(() => figureOf('response', ofStages([]))).toThrow('No stage is in circuit');
  });
});
