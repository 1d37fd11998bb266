import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  dbfsToDbu, dbuToDbfs, fromDbu, fullScaleChoicesDbu, fullScalePeakVolts, peakToDbfs, rmsToDbfs, sinePeakFromDbu, sinePeakToDbu, toDbu, zeroDbuRmsVolts,
} from '../../dsp/recording/index.ts';

/** 1e-13: three rounded steps and the few ulp of the decibel functions. */
const relativeLimit = 1e-13;

function near(actual: number, expected: number, limit: number): void {
  const error = Math.abs(actual - expected);
  if (!(error <= limit)) throw new Error(`got ${actual}, expected ${expected}, error ${error}, limit ${limit}`);
}

describe('calibration', () => {
  it('puts 0 dBu at 1 mW in 600 ohms', () => {
    near(zeroDbuRmsVolts ** 2 / 600, 1e-3, 1e-18);
    expect(zeroDbuRmsVolts).toBe(0.7745966692414834);
  });

  // √1.2 · 10^(dBu/20), in decimal arithmetic of forty digits.
  it.each([[18, 8.701429844434947], [22, 13.79083692512291], [24, 17.36163505494657]] as const)('+%d dBu full scale is %d V peak', (dbu, volts) => {
    near(fullScalePeakVolts(dbu), volts, relativeLimit * volts);
  });

  it.each(fullScaleChoicesDbu)('a full-scale sine at +%d dBu reads that level, and −20 dBFS 20 dB less', (dbu) => {
    const frames = 480;
    let sum = 0;
    for (let i = 0; i < frames; i += 1) sum += (fullScalePeakVolts(dbu) * Math.sin((2 * Math.PI * 10 * i) / frames)) ** 2;
    near(toDbu(Math.sqrt(sum / frames)), dbu, 1e-12);
    near(sinePeakToDbu(fullScalePeakVolts(dbu)), dbu, 1e-12);
    near(dbfsToDbu(-20, dbu), dbu - 20, 0);
    near(rmsToDbfs(Math.sqrt(sum / frames) / fullScalePeakVolts(dbu)), 0, 1e-12);
  });

  it('inverts itself', () => {
    fc.assert(fc.property(fc.double({ min: -150, max: 60, noNaN: true }), (levelDbu) => {
      near(toDbu(fromDbu(levelDbu)), levelDbu, 1e-11);
      near(sinePeakToDbu(sinePeakFromDbu(levelDbu)), levelDbu, 1e-11);
      near(dbfsToDbu(dbuToDbfs(levelDbu, 24), 24), levelDbu, 1e-12);
      near(sinePeakFromDbu(levelDbu) / fromDbu(levelDbu), Math.SQRT2, relativeLimit);
    }), { seed: 20261125 });
  });

  it('reads silence as minus infinity', () => {
    expect(toDbu(0)).toBe(-Infinity);
    expect(peakToDbfs(0)).toBe(-Infinity);
    near(peakToDbfs(0.5), -6.020599913279624, 1e-12);
  });
});
