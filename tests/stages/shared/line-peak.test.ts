/** Published rows of resonance and line (CHECKS.md, section 5) through the ladder that the readings are made of, and line lengths for a wanted peak. */
import { describe, expect, it } from 'vitest';
import { lineLengthsForPeak, resonantPeak, upperCornerHz } from '../../../dsp/stages/index.ts';
import type { Ladder } from '../../../dsp/stages/index.ts';
import { ladderGainDb, ladderResponse } from '../../../dsp/stages/shared/ladder.ts';
import { chargingAmperes, cornerHz, fullPowerHz, openLineOverLumped, slewVoltsPerSecond } from '../../../dsp/stages/shared/line-physics.ts';
import { check, checksOf, expectWithin, numberInput } from '../../reference/checks.ts';

/** Series resistance and inductance, shunt capacitance and load. */
const chain = (ohms: number, henries: number, farads: number, loadOhms = Infinity): Ladder => [
  { place: 'series', ohms, henries }, { place: 'shunt', farads }, ...(loadOhms < Infinity ? [{ place: 'shunt' as const, ohms: loadOhms }] : []),
];
/** Where the chain counts as standing at 0 Hz, Hz. */
const lowHz = 1e-3;
const relativeDb = (ladder: Ladder, hz: number): number => ladderGainDb(ladder, hz) - ladderGainDb(ladder, lowHz);

describe('published rows through the ladder', () => {
  it.each(checksOf('LINE-L').filter(({ id }) => id !== 'LINE-LUMPED'))('$id', (entry) => {
    const [, characteristic, ohms, peakHz, at20kHzDb] = entry.expected as readonly number[];
    const ladder = chain(ohms!, numberInput(entry, 'L_H'), numberInput(entry, 'C_F'));
    // The resonance is taken against 1 kHz here, against 0 Hz there: the difference is that of the two references.
    const offset = relativeDb(ladder, 1000);
    const peak = resonantPeak((hz) => ladderGainDb(ladder, hz))!;
    expect(Math.abs(peak.db + offset - 1.5)).toBeLessThan(1e-6);
    expect(Math.abs(peak.hz / peakHz! - 1)).toBeLessThan(1e-5);
    expect(Math.abs(relativeDb(ladder, 20e3) / at20kHzDb! - 1)).toBeLessThan(1e-6);
    expect(characteristic! / ohms!).toBeGreaterThan(1);
  });

  it.each(checksOf('LINE-FULL'))('$id', (entry) => {
    const ladder = chain(numberInput(entry, 'Rs_ohm'), numberInput(entry, 'L_H'), numberInput(entry, 'C_F'), numberInput(entry, 'RL_ohm'));
    const [, , peakDb, peakHz, lossDb, ...atDb] = entry.expected as readonly number[];
    const peak = resonantPeak((hz) => ladderGainDb(ladder, hz))!;
    expect(Math.abs(peak.db + relativeDb(ladder, 1000) - peakDb!)).toBeLessThan(1e-6);
    expect(Math.abs(peak.hz / peakHz! - 1)).toBeLessThan(1e-5);
    expect(Math.abs(ladderGainDb(ladder, lowHz) / lossDb! - 1)).toBeLessThan(1e-6);
    [1e3, 10e3, 20e3, 40e3].forEach((hz, k) => expect(Math.abs(relativeDb(ladder, hz) - atDb[k]!), `${hz} Hz`).toBeLessThan(1e-6));
  });

  it.each(checksOf('DRIVE-I'))('$id', (entry) => {
    expectWithin(entry, 1000 * chargingAmperes(numberInput(entry, 'C_F'), numberInput(entry, 'Vp_V'), numberInput(entry, 'f_Hz')));
  });

  it.each(checksOf('DRIVE-SR'))('$id', (entry) => {
    const slew = slewVoltsPerSecond(numberInput(entry, 'C_F'), numberInput(entry, 'Imax_A'));
    expectWithin(entry, [slew / 1e6, fullPowerHz(slew, numberInput(entry, 'Vp_V'))]);
  });

  it('DRIVE-POLE', () => {
    const entry = check('DRIVE-POLE');
    expectWithin(entry, cornerHz(numberInput(entry, 'Rout_ohm'), numberInput(entry, 'C_F')));
  });

  it('LINE-LUMPED', () => {
    const entry = check('LINE-LUMPED');
    expectWithin(entry, openLineOverLumped(numberInput(entry, 'length_m'), numberInput(entry, 'f_Hz'), numberInput(entry, 'vf')));
  });
});

describe('a ladder', () => {
  it('sees impedances through the square of the turns, and the current through the turns', () => {
    const direct = ladderResponse([{ place: 'series', ohms: 100 }, { place: 'shunt', ohms: 900 }], 1000);
    const through = ladderResponse([{ place: 'series', ohms: 100 }, { place: 'turns', ratio: 0.1 }, { place: 'shunt', ohms: 90_000 }], 1000);
    expect(through.gainRatio / direct.gainRatio).toBeCloseTo(10, 12);
    expect(through.sourceAmperesPerVolt).toBeCloseTo(1e-3, 15);
  });

  it('has its corner where one resistance and one capacitance have it', () => {
    const low: Ladder = [{ place: 'series', ohms: 1000 }, { place: 'shunt', farads: 1 / (2 * Math.PI * 1000 * 50e3) }];
    // Against 1 kHz, so by (1/50)² / 2 later than 50 kHz.
    expect(upperCornerHz((hz) => ladderGainDb(low, hz))! / 50e3).toBeCloseTo(Math.sqrt(1 + 2 / 2500), 5);
    expect(resonantPeak((hz) => ladderGainDb(low, hz))).toBeNull();
    expect(upperCornerHz((hz) => ladderGainDb([{ place: 'series', ohms: 1 }, { place: 'shunt', ohms: 1 }], hz))).toBeNull();
  });
});

describe('line lengths for a wanted peak', () => {
  /** Height of the peak over a length, for a chain whose resistance falls short of damping. */
  const ladderOf = (metres: number): Ladder => chain(200, 1e-3, metres * 1e-10);

  it('are one where the peak only falls, and none where it never gets there', () => {
    const [only, ...others] = lineLengthsForPeak(ladderOf, 1.5);
    expect(others).toEqual([]);
    // 1.5 dB over 0 Hz needs Q = 1.0430 = √(L/C)/R; over 1 kHz it is 0.002 dB less.
    const farads = 1e-3 / (1.043049 * 200) ** 2;
    expect(Math.abs(only!.metres / (farads * 1e10) - 1)).toBeLessThan(0.003);
    expect(only!.heard).toBe(true);
    expect(lineLengthsForPeak((metres) => chain(5000, 1e-3, metres * 1e-10), 1.5)).toEqual([]);
  });

  it('each give that peak when looked at again', () => {
    for (const peakDb of [0.5, 1.5, 3]) {
      for (const { metres, peakHz, gainAt20kHzDb } of lineLengthsForPeak(ladderOf, peakDb)) {
        const ladder = ladderOf(metres);
        const peak = resonantPeak((hz) => ladderGainDb(ladder, hz))!;
        expect(Math.abs(peak.db - peakDb)).toBeLessThan(0.001);
        expect(peak.hz).toBe(peakHz);
        expect(gainAt20kHzDb).toBe(ladderGainDb(ladder, 20e3) - ladderGainDb(ladder, 1000));
      }
    }
  });
});
