import { describe, expect, it } from 'vitest';
import { coherentTone, harmonicsOf, subjectOfDocument, type FigureSubject } from '../../../../dsp/measure/figures/index.ts';
import { check, checksOf, expectedNumbers, expectWithin, numberInput } from '../../../reference/checks.ts';
import { capacitor, input, parsedOf, referenceTemperatureC } from '../../../support/circuits.ts';
import { figureOf } from './support.ts';

const vt = (1.380649e-23 * 300) / 1.602176634e-19;
const compensation = 100e-12;

/** Unity-gain follower with a tanh input pair: slew rate 4 π VT fT. Else said, in steps of a quarter of a microsecond, so that what is compared is the model. */
function follower(unityHz: number, rateHz = 4_000_000): FigureSubject {
  return subjectOfDocument(parsedOf([
    input('in'),
    { kind: 'tanh-transconductor', name: 'G1', out: ['o', 'ground'], in: ['in', 'o'], maxAmperes: 4 * Math.PI * vt * unityHz * compensation, scaleVolts: 2 * vt },
    capacitor('CC', 'o', 'ground', compensation),
  ], ['o', 'ground'], referenceTemperatureC), rateHz);
}

function ratios(subject: FigureSubject, hz: number, peakVolts: number): number[] {
  const steps = harmonicsOf(subject, { frequency: coherentTone(subject, hz), peakVolts }, [3, 5]);
  for (let step = steps.next(); ; step = steps.next()) if (step.done) return step.value.harmonics.map(({ ratio }) => ratio);
}

describe('distortion of an input pair that slews, as figures measure it', () => {
  const subject = follower(1e6);

  it.each(checksOf('FOL-').filter(({ id }) => !id.includes('APPROX')))('$id: third and fifth harmonic', (entry) => {
    const actual = ratios(subject, numberInput(entry, 'f_Hz'), numberInput(entry, 'vin_peak_V'));
    const [third, fifth] = expectedNumbers(entry);
    expectWithin({ ...entry, expected: third! }, actual[0]!);
    // What a solve leaves of a volt: 1e-12.
    expectWithin({ ...entry, expected: fifth! }, actual[1]!, { type: 'abs', value: Math.max(1e-3 * fifth!, 1e-12) });
  });

  it('SID-SLOPE: the third harmonic rises with the cube of the frequency and the square of the level, far from slewing', () => {
    const third = (hz: number, volts: number): number => 20 * Math.log10(ratios(subject, hz, volts)[0]!);
    expectWithin(check('SID-SLOPE'), [third(4000, 0.5) - third(2000, 0.5), (third(2000, 1) - third(2000, 0.5)) / (20 * Math.log10(2))]);
  });

  it.each(checksOf('DIM-FOL-'))('$id: eight times finer than 384 kHz, within 6 %; at 384 kHz itself up to 27 % too little', (entry) => {
    // What slews within the last quarter of a microsecond of an edge: the row's own 2 % need 4.9 MHz (steady-tones.test.ts).
    const level = 20 * Math.log10(numberInput(entry, 'peak_V') / Math.sqrt(1.2));
    const dim = (steps: string): number => figureOf('intermodulation', follower(1e6, 384_000), { signal: 'dim-30', levelDbu: level, steps }).tables[0]!.rows[0]!.cells[1] as number;
    expectWithin(entry, dim('finer'), { type: 'rel', value: 0.06 });
    const played = dim('internal') / (entry.expected as number);
    expect(played > 0.7 && played < 0.97, `${played}`).toBe(true);
  });

  it('stands in the single figures too: THD of the third and higher orders alone', () => {
    const row = checksOf('FOL-20k-2V').find(({ id }) => id === 'FOL-20k-2V')!;
    const [third, fifth] = expectedNumbers(row);
    // 2 V peak in dBu.
    const figure = figureOf('single-figures', subject, { frequencyHz: 20_000, levelDbu: 20 * Math.log10(2 / Math.sqrt(1.2)), highestOrder: 6 });
    const thd = (figure.tables[0]!.rows.find(({ cells }) => cells[0] === 'THD, F')!.cells[1] as number) / 100;
    expect(Math.abs(thd / Math.hypot(third!, fifth!) - 1) <= 2e-3, `${thd}`).toBe(true);
  });
});
