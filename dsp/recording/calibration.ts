import { decibelsToRatio, ratioToDecibels } from '../math/index.ts';

/** Level of a full-scale sine in dBu: what joins samples and volts. */
export type FullScaleDbu = 18 | 22 | 24;

export const fullScaleChoicesDbu: readonly FullScaleDbu[] = [18, 22, 24];
export const defaultFullScaleDbu: FullScaleDbu = 24;

/**
 * 0 dBu in volts r.m.s.: √0.6, the voltage of 1 mW in 600 Ω (IEC 60268-17 and broadcasting practice; from memory). 0.7745966692414834.
 */
export const zeroDbuRmsVolts = Math.sqrt(0.6);

/**
 * Peak volts of a sample of 1, so that a full-scale *sine* has the level `fullScaleDbu`: √0.6 · √2 · 10^(dBu / 20).
 * +24 dBu gives 17.36 V. Error within 4 ulp.
 */
export function fullScalePeakVolts(fullScaleDbu: number): number {
  return Math.sqrt(1.2) * decibelsToRatio(fullScaleDbu);
}

/** Level in dBu of a voltage in volts r.m.s.; 0 V gives −∞. */
export function toDbu(rmsVolts: number): number {
  return ratioToDecibels(rmsVolts / zeroDbuRmsVolts);
}

/** Volts r.m.s. of a level in dBu. */
export function fromDbu(levelDbu: number): number {
  return zeroDbuRmsVolts * decibelsToRatio(levelDbu);
}

/** Level in dBu of a sine with this peak. */
export function sinePeakToDbu(peakVolts: number): number {
  return toDbu(peakVolts / Math.SQRT2);
}

/** Peak volts of a sine of this level. */
export function sinePeakFromDbu(levelDbu: number): number {
  return fromDbu(levelDbu) * Math.SQRT2;
}

/** A level in dBu as dBFS, where a full-scale sine is 0 dBFS. */
export function dbuToDbfs(levelDbu: number, fullScaleDbu: number): number {
  return levelDbu - fullScaleDbu;
}

/** A level in dBFS as dBu. */
export function dbfsToDbu(levelDbfs: number, fullScaleDbu: number): number {
  return levelDbfs + fullScaleDbu;
}

/** A peak sample as dBFS: 1 is 0 dBFS, as for a sine of that peak. */
export function peakToDbfs(peak: number): number {
  return ratioToDecibels(peak);
}

/** A root-mean-square of samples as dBFS, where a full-scale sine (r.m.s. 1/√2) reads 0: 3.01 dB above its plain ratio (AES17; from memory). */
export function rmsToDbfs(rms: number): number {
  return ratioToDecibels(rms * Math.SQRT2);
}
