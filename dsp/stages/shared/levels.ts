/** Levels in volts. 0 dBu is √0.6 V rms (1 mW in 600 Ω). */
import { decibelsToRatio, ratioToDecibels } from '../../math/index.ts';

/** Peak volts of a sine at 0 dBu: √(2 · 0.6). */
const zeroDbuPeakVolts = Math.sqrt(1.2);

/** The working level of the bench: line level. */
export const lineLevelDbu = 4;
/** Peak volts of a sine at a level. */
export const dbuToPeakVolts = (dbu: number): number => zeroDbuPeakVolts * decibelsToRatio(dbu);
/** Level of a sine of this peak; 0 V → −∞. */
export const peakVoltsToDbu = (peakVolts: number): number => ratioToDecibels(peakVolts / zeroDbuPeakVolts);
