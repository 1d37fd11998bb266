/** Figures in the words of captions, marks and remarks. */
import { writeQuantity } from '../../path/index.ts';
import type { FigureColumn } from './contract.ts';

/** With a true minus and a plus; no sign at a zero. */
export function signed(value: number, digits: number): string {
  const written = Math.abs(value).toFixed(digits);
  return Number(written) === 0 ? written : `${value < 0 ? '−' : '+'}${written}`;
}

/** "+4.0 dBu" */
export const signedDbu = (dbu: number): string => `${signed(dbu, 1)} dBu`;

/** "−65.7 dB" */
export const decibels = (db: number, digits = 1): string => `${db < 0 ? '−' : ''}${Math.abs(db).toFixed(digits)} dB`;

/** "0.052 %" of a ratio, three significant digits. */
export const percent = (ratio: number): string => (ratio < 1e-8 ? 'under 0.000001 %' : `${Number((100 * ratio).toPrecision(3))} %`);

/** "1.25 kHz" */
export const hertz = (hz: number): string => writeQuantity(hz, 'frequency', 'Hz');

/** "12.5 mV" */
export const volts = (value: number): string => writeQuantity(value, 'voltage', 'V');

/** "0.5 ms" */
export const seconds = (value: number): string => writeQuantity(value, 'time', 's');

export const column = {
  text: (label: string): FigureColumn => ({ label, unit: '', written: 'plain', digits: 0 }),
  hertz: (label: string): FigureColumn => ({ label, unit: 'Hz', written: 'prefixed', digits: 4 }),
  decibels: (label: string): FigureColumn => ({ label, unit: 'dB', written: 'plain', digits: 1 }),
  volts: (label: string): FigureColumn => ({ label, unit: 'V', written: 'prefixed', digits: 4 }),
} as const;
