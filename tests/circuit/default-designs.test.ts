// Harmonics of the default designs against figures found by a general-purpose circuit simulator and by periodic collocation.
import { describe, expect, it } from 'vitest';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { documentFile } from '../support/circuits.ts';
import type { Part } from '../support/circuits.ts';
import { crossing, measured } from '../support/measured.ts';
import type { Measured } from '../support/measured.ts';

/** 0 dBu = 0.7746 V rms. */
const peakOfDbu = (dbu: number): number => Math.SQRT2 * Math.sqrt(0.6) * 10 ** (dbu / 20);
/** Harmonics above −100 dB of the fundamental to 0.3 dB (figures are printed to 0.1 or 1 dB: half their last digit more), below it 1 dB. */
const harmonicDb = (expected: number, printed: number): number => (expected > -100 ? 0.3 : 1) + printed / 2;

function atOutput(document: CircuitDocument, dbu: number, gainDb: number): Measured {
  const target = peakOfDbu(dbu);
  const drive = { frames: 384, orders: [2, 3, 4, 5, 7] };
  // Output level rises steadily with the drive; the gain falls a little on the way to clipping.
  const start = target * 10 ** (-gainDb / 20);
  const peakVolts = crossing((volts) => 20 * Math.log10(measured(document, { ...drive, peakVolts: volts }).fundamental.peakVolts / target), 0.7 * start, 1.5 * start, 1e-6 * start);
  return measured(document, { ...drive, peakVolts });
}

function expectHarmonics(result: Measured, expected: Readonly<Record<number, number>>, printed: number): void {
  const lines = Object.entries(expected).flatMap(([order, db]) => {
    const found = result.harmonics.find((harmonic) => harmonic.order === Number(order))!.db;
    return !(Math.abs(found - db) <= harmonicDb(db, printed)) ? [`H${order}: got ${found.toFixed(2)} dB, expected ${db} ± ${harmonicDb(db, printed)} dB`] : [];
  });
  expect(lines).toEqual([]);
}

describe('single-ended stages at 1 kHz', () => {
  it.each([
    ['single-ended-bipolar', 4, 17.3, { 2: -60, 3: -83 }, 1],
    ['single-ended-bipolar', 10.5, 17.3, { 2: -53, 3: -69, 4: -86, 5: -102 }, 1],
    ['single-ended-bipolar', 14.5, 17.3, { 2: -47.5, 3: -59, 4: -71, 5: -83 }, 1],
    ['single-ended-field-effect', 4, 6.6, { 2: -47.7, 3: -71.9 }, 0.1],
    ['single-ended-valve', 4, 21.6, { 2: -66, 3: -116 }, 1],
  ] as const)('%s at %d dBu', (name, dbu, gainDb, expected, printed) => {
    expectHarmonics(atOutput(documentFile(name), dbu, gainDb), expected, printed);
  });

  const withValue = (name: string, part: string, values: Part): CircuitDocument =>
    documentFile(name, (parts) => parts.map((entry) => (entry['name'] === part ? { ...entry, ...values } : entry)));

  it('field effect: λ is what sets the second harmonic', () => {
    expectHarmonics(atOutput(withValue('single-ended-field-effect', 'J1', { lambdaPerVolt: 0 }), 4, 6.6), { 2: -45, 3: -71.2 }, 0.1);
    expectHarmonics(atOutput(withValue('single-ended-field-effect', 'J1', { lambdaPerVolt: 0.03 }), 4, 6.6), { 2: -55.6 }, 0.1);
  });

  it('valve into 10 kΩ', () => {
    expectHarmonics(atOutput(withValue('single-ended-valve', 'RL', { ohms: 10e3 }), 4, 16.8), { 2: -54, 3: -97 }, 1);
  });

  it('one per cent', () => {
    // +17.6 dBu bipolar, +11 dBu field effect ("already").
    const thdPercent = (name: string, dbu: number, gainDb: number): number => 100 * atOutput(documentFile(name), dbu, gainDb).thd.f;
    expect(thdPercent('single-ended-bipolar', 17.3, 17.3)).toBeLessThan(1);
    expect(thdPercent('single-ended-bipolar', 17.9, 17.3)).toBeGreaterThan(1);
    expect(Math.abs(thdPercent('single-ended-field-effect', 11, 6.6) - 1)).toBeLessThan(0.1);
  });
});

describe('push-pull pair at 1 kHz', () => {
  const vt = (1.380649e-23 * 300.15) / 1.602176634e-19;
  const pairAt = (amperes: number): CircuitDocument => {
    const spread = 2 * (vt * Math.log(amperes / 1.18e-14) + amperes * 10 * (1 + 1 / 200) + (amperes * 10) / 200);
    return documentFile('push-pull', (parts) => parts.map((part) => (/^VB/.test(part['name'] as string) ? { ...part, volts: spread / 2 } : part)));
  };
  // Where a figure is a null's neighbour (1.3 mA at −3 dBu, −133 dB) or below the floor it was found with, it is left out.
  it.each([
    [50e-6, -3, { 3: -33, 5: -42 }], [50e-6, 4, { 3: -37, 5: -44, 7: -49 }], [50e-6, 17, { 3: -45, 5: -51 }],
    [0.5e-3, -3, { 3: -61, 5: -83 }], [0.5e-3, 4, { 3: -54, 5: -68, 7: -80 }], [0.5e-3, 17, { 3: -54, 5: -62 }],
    [1.3e-3, 4, { 3: -96, 5: -109, 7: -131 }], [1.3e-3, 17, { 3: -66, 5: -83 }],
    [2.6e-3, -3, { 3: -100 }], [2.6e-3, 4, { 3: -86, 5: -134 }], [2.6e-3, 17, { 3: -68, 5: -79 }],
    [15e-3, -3, { 3: -135 }], [15e-3, 4, { 3: -121 }], [15e-3, 17, { 3: -94, 5: -129 }],
  ] as const)('%d A, %d dBu', (amperes, dbu, expected) => {
    expectHarmonics(atOutput(pairAt(amperes), dbu, -0.4), expected, 1);
  });
});

describe('discrete amplifier, noise gain 2, into 600 Ω', () => {
  it.each([[1000, { 2: -116, 3: -154 }], [10_000, { 2: -116, 3: -154 }]] as const)('%d Hz at +4 dBu', (frequencyHz, expected) => {
    // Build-out and load take 0.66 dB of the noise gain's 6.02.
    const result = measured(documentFile('discrete-amplifier'), { frequencyHz, peakVolts: peakOfDbu(4 - 5.36), frames: 1536, orders: [2, 3] });
    expectHarmonics(result, expected, 1);
  });
});
