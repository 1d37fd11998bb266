/** What figures of tones have in common: how they name what they are of, and what they refuse. */
import { kilohertz } from '../../tones/index.ts';
import type { FigureColumn, FigureFacts } from '../contract.ts';
import { internalRateHz, refuseScope } from '../tone.ts';

/** Why tones cannot be sent through: null if they can. */
export function whyNoTones(facts: FigureFacts, highestHz: number): string | null {
  const rateHz = internalRateHz(facts);
  if (!(highestHz < rateHz / 2)) return `Expected an internal rate above ${kilohertz(2 * highestHz)} for a tone at ${kilohertz(highestHz)}, got ${kilohertz(rateHz)}: raise the oversampling.`;
  return refuseScope(facts);
}

/** "+4.0 dBu" */
export function signedDbu(dbu: number): string {
  return `${signed(dbu, 1)} dBu`;
}

/** With a true minus and a plus. */
export function signed(value: number, digits: number): string {
  const written = Math.abs(value).toFixed(digits);
  return Number(written) === 0 ? written : `${value < 0 ? '−' : '+'}${written}`;
}

/** "0.052 % (−65.7 dB)"; what lies under the floor has no figure. */
export function ratioWords(ratio: number, db: number, floorDb: number): string {
  return db > floorDb ? `${Number((100 * ratio).toPrecision(3))} % (${decibels(db)})` : `under ${decibels(floorDb)}`;
}

/** "−65.7 dB" */
export function decibels(db: number): string {
  return `${db < 0 ? '−' : ''}${Math.abs(db).toFixed(1)} dB`;
}

export const column = {
  text: (label: string): FigureColumn => ({ label, unit: '', written: 'plain', digits: 0 }),
  count: (label: string): FigureColumn => ({ label, unit: '', written: 'plain', digits: 0 }),
  hertz: (label = 'frequency'): FigureColumn => ({ label, unit: 'Hz', written: 'prefixed', digits: 5 }),
  decibels: (label: string): FigureColumn => ({ label, unit: 'dB', written: 'plain', digits: 1 }),
  percent: (label: string): FigureColumn => ({ label, unit: '%', written: 'plain', digits: 5 }),
  volts: (label: string): FigureColumn => ({ label, unit: 'V', written: 'prefixed', digits: 4 }),
} as const;

