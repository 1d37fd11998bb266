/** Ways to drive a line, against figures computed by hand and with a ladder network apart from the bench. */
import { describe, expect, it } from 'vitest';
import { compareLineDriving, lineDrivingWays } from '../../dsp/measure/index.ts';
import { capacitiveLoadMargin, dbuToPeakVolts, resolveValues, stageById } from '../../dsp/stages/index.ts';

/** 300 m of 100 pF/m without resistance into 10 kΩ, the bench's transformer. */
const given = { lineMetres: 300, lineOhmsPerMetre: 1e-6 };
const compared = compareLineDriving(resolveValues(stageById('line'), given));
const by = Object.fromEntries(compared.map((each) => [each.way, each]));

function expectNear(actual: number, expected: number, limit: number, what: string): void {
  const error = Math.abs(actual - expected);
  if (!(error <= limit)) throw new Error(`${what}: expected ${expected}, got ${actual}, error ${error}, limit ${limit}`);
}

describe('the comparison of ways to drive 300 m', () => {
  // The design's figures: 64, 55, 80 and 83 mA, in whole milliamperes.
  it.each([['direct', 64], ['direct, same resistance', 55], ['transformer', 80], ['transformer, damped', 83]])('%s takes %d mA at 20 kHz and +24 dBu', (way, milliamperes) => {
    expectNear(1000 * by[way]!.driverPeakAmperes, milliamperes, 0.5, way);
  });

  it('takes by hand what R, C and load take', () => {
    const admittance = { re: 1 / 10e3, im: 2 * Math.PI * 20e3 * 30e-9 };
    const square = admittance.re ** 2 + admittance.im ** 2;
    for (const [way, ohms] of [['direct', 50], ['direct, same resistance', 168]] as const) {
      const impedance = Math.hypot(ohms + admittance.re / square, admittance.im / square);
      expectNear(by[way]!.driverPeakAmperes, dbuToPeakVolts(24) / impedance, 1e-5, way);
    }
  });

  it('peaks only behind the transformer, 1.58 dB at 21.4 kHz, and less with its damper', () => {
    expect(by['direct']!.peak).toBeNull();
    expect(by['direct, same resistance']!.peak).toBeNull();
    expectNear(by['transformer']!.peak!.db, 1.58, 0.02, 'peak, dB');
    expectNear(by['transformer']!.peak!.hz, 21.4e3, 100, 'peak, Hz');
    expectNear(by['transformer']!.at20kHzDb, 1.55, 0.02, 'at 20 kHz, dB');
    expectNear(by['transformer, damped']!.peak!.db, 0.9, 0.05, 'damped peak, dB');
  });

  it('loses at 20 kHz what the direct drives’ corners say, and at 20 Hz only behind the transformer', () => {
    for (const [way, ohms] of [['direct', 50], ['direct, same resistance', 168]] as const) {
      // Resistance and load in parallel, with 30 nF; against 1 kHz.
      const parallel = 1 / (1 / ohms + 1 / 10e3);
      const fall = (hz: number) => -10 * Math.log10(1 + (2 * Math.PI * hz * parallel * 30e-9) ** 2);
      expectNear(by[way]!.at20kHzDb, fall(20e3) - fall(1000), 0.001, way);
      expectNear(by[way]!.at20HzDb, -fall(1000), 0.001, way);
    }
    expectNear(by['transformer']!.at20HzDb, -0.04, 0.005, 'at 20 Hz, dB');
  });

  it('gives for each limit the level at which just that current flows', () => {
    expect(compared.map(({ way }) => way)).toEqual([...lineDrivingWays]);
    for (const { way, limits, driverPeakAmperes } of compared) {
      for (const { limitAmperes, levelDbu } of limits) expectNear((driverPeakAmperes * 10 ** ((levelDbu - 24) / 20)) / limitAmperes, 1, 1e-9, way);
      expect(limits).toHaveLength(5);
    }
    // The transformer does not spare its driver: it meets every limit first.
    expect(by['transformer']!.limits[0]!.levelDbu).toBeLessThan(by['direct']!.limits[0]!.levelDbu);
  });

  it('is what the line stage says in its remarks', () => {
    const stage = stageById('line');
    const values = resolveValues(stage, given);
    const { remarks } = stage.report(values, stage.program(values, { rateHz: 384_000, source: null }));
    const labels = ['driven direct', 'direct, same resistance', 'through a transformer', 'transformer, damped'];
    labels.forEach((label, k) => {
      const [, sign, db, milliamperes, level] = /^([+−])([\d.]+) dB at 20 kHz; \+24 dBu takes ([\d.]+) mA there, 20 mA are reached at ([\d.]+) dBu$/.exec(remarks.find((remark) => remark.label === label)!.words)!;
      expectNear(Number(db) * (sign === '−' ? -1 : 1), compared[k]!.at20kHzDb, 0.0051, `${label}, dB`);
      expectNear(Number(milliamperes), 1000 * compared[k]!.driverPeakAmperes, 0.051, `${label}, mA`);
      expectNear(Number(level), compared[k]!.limits[0]!.levelDbu, 0.051, `${label}, dBu`);
    });
  });

  it('takes another level and other limits', () => {
    const [direct] = compareLineDriving(resolveValues(stageById('line'), given), { levelDbu: 4, limitsAmperes: [1] });
    expectNear(direct!.driverPeakAmperes * 10, by['direct']!.driverPeakAmperes, 1e-9, 'twenty decibels less');
    expect(direct!.limits.map(({ limitAmperes }) => limitAmperes)).toEqual([1]);
  });
});

describe('an amplifier with a capacitive load', () => {
  const amplifier = { unityGainHz: 3e6, noiseGain: 2, outputOhms: 140, secondPoleHz: 30e6 };

  it('has the margin of two poles where there is no load', () => {
    const { crossoverHz, phaseMarginDegrees } = capacitiveLoadMargin(amplifier, 1e-15, 0);
    expectNear(crossoverHz, 1.5e6, 0.01e6, 'crossover, Hz');
    expectNear(phaseMarginDegrees, 90 - (180 / Math.PI) * Math.atan(crossoverHz / 30e6), 0.01, 'margin, degrees');
  });

  it('loses its margin bare before 30 nF, and has most of it back behind 50 Ω', () => {
    const bare = capacitiveLoadMargin(amplifier, 30e-9, 0);
    // Far above the load's pole the loop falls with the square: crossover at the geometric mean.
    const poleHz = 1 / (2 * Math.PI * 140 * 30e-9);
    expectNear(bare.crossoverHz / Math.sqrt(1.5e6 * poleHz), 1, 0.02, 'crossover over the geometric mean');
    expectNear(bare.phaseMarginDegrees, (180 / Math.PI) * (Math.atan(poleHz / bare.crossoverHz) - Math.atan(bare.crossoverHz / 30e6)), 0.01, 'margin, degrees');
    expect(bare.phaseMarginDegrees).toBeLessThan(15);
    expect(capacitiveLoadMargin(amplifier, 30e-9, 50).phaseMarginDegrees).toBeGreaterThan(60);
  });
});
