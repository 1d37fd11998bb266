/** What a transformer with its load says about itself: band, peak, line lengths that give a wanted peak, currents. */
import { ratioToDecibels } from '../../math/index.ts';
import type { CircuitStageProgram, StageReading, StageRemark } from '../contract.ts';
import { formatValue } from './format-value.ts';
import type { Ladder } from './ladder.ts';
import { ladderGainDb, ladderResponse } from './ladder.ts';
import { dbuToPeakVolts } from './levels.ts';
import { lineLengthsForPeak, preferredPeakHz, resonantPeak, upperCornerHz } from './line-peak.ts';

/** Level at which a driver's current is stated, dBu of its own voltage, and frequency. */
export const drivingLevelDbu = 24;
export const drivingHz = 20e3;

/** "+1.58 dB", with a minus sign that is one. */
export const signedDb = (db: number): string => `${db < 0 ? '−' : '+'}${Number(Math.abs(db).toFixed(2))} dB`;

/** Gain, loss, both ends of the band. `lossless` is the gain without any loss, a ratio (1 over the turns ratio). */
export function bandReadings(ladder: Ladder, lossless: number, program: CircuitStageProgram): readonly StageReading[] {
  const gainDb = (hz: number): number => ladderGainDb(ladder, hz);
  const at1kHz = gainDb(1000);
  const peak = resonantPeak(gainDb);
  const corner = upperCornerHz(gainDb);
  return [
    {
      label: 'gain, small signal', value: at1kHz + ratioToDecibels(program.inputGain * program.outputGain), quantity: 'gain', unit: 'dB',
      note: 'at 1 kHz, drive and make-up included',
    },
    { label: 'loss', value: ratioToDecibels(lossless) - at1kHz, quantity: 'gain', unit: 'dB', note: 'at 1 kHz, in resistances and load' },
    { label: 'gain at 20 Hz', value: gainDb(20) - at1kHz, quantity: 'gain', unit: 'dB', note: 'against 1 kHz' },
    { label: 'gain at 20 kHz', value: gainDb(20e3) - at1kHz, quantity: 'gain', unit: 'dB', note: 'against 1 kHz' },
    ...(peak === null ? [] : [
      { label: 'resonant peak', value: peak.db, quantity: 'gain' as const, unit: 'dB', note: 'against 1 kHz' },
      { label: 'peak frequency', value: peak.hz, quantity: 'frequency' as const, unit: 'Hz' },
    ]),
    ...(corner === null ? [] : [{ label: 'upper corner', value: corner, quantity: 'frequency' as const, unit: 'Hz', note: '3 dB under 1 kHz' }]),
  ];
}

/** Peak current the driver delivers into the whole of it. */
export function drivingCurrent(ladder: Ladder): StageReading {
  return {
    label: 'driver current', value: ladderResponse(ladder, drivingHz).sourceAmperesPerVolt * dbuToPeakVolts(drivingLevelDbu), quantity: 'current', unit: 'A',
    note: `peak, at 20 kHz and +${drivingLevelDbu} dBu of its own voltage`,
  };
}

/** All line lengths that give the wanted peak: those under 30 kHz first in what is recommended. */
export function lengthReadings(
  ladderOf: (metres: number) => Ladder, wantedPeakDb: number,
): { readonly readings: readonly StageReading[]; readonly remarks: readonly StageRemark[] } {
  const lengths = lineLengthsForPeak(ladderOf, wantedPeakDb);
  const readings = lengths.map(({ metres, peakHz, gainAt20kHzDb, heard }, index): StageReading => ({
    label: lengths.length === 1 ? 'line for the wanted peak' : `line for the wanted peak, ${index + 1}`, value: metres, quantity: 'length', unit: 'm',
    note: `${signedDb(wantedPeakDb)} at ${formatValue(peakHz, 'Hz')}, ${signedDb(gainAt20kHzDb)} at 20 kHz${heard ? '' : `; above ${formatValue(preferredPeakHz, 'Hz')}, beyond hearing`}`,
  }));
  const words = lengths.length === 0 ? 'no line length from 0.5 m to 3 km gives it'
    : lengths.every(({ heard }) => !heard) ? `every length puts it above ${formatValue(preferredPeakHz, 'Hz')}`
      : `prefer ${lengths.filter(({ heard }) => heard).map(({ metres }) => formatValue(Number(metres.toPrecision(3)), 'm')).join(' or ')}: the peak is under ${formatValue(preferredPeakHz, 'Hz')}`;
  return { readings, remarks: [{ label: `peak of ${signedDb(wantedPeakDb)}`, words }] };
}
