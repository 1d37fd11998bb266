import { pow10, power } from '../math/index.ts';

/**
 * Arithmetic of sound exposure. Levels are A-weighted at the ear, in dB re 20 µPa: an estimate that only a calibrated playback chain can
 * give; without one the bench shows none of these. None is a promise of safety, and hearing differs from person to person.
 */

const referencePascals = 20e-6;

/** Weekly reference exposures of Recommendation ITU-T H.870 (WHO and ITU, guidelines for safe listening devices): level and time. */
export const weeklyReference = {
  adults: { levelDba: 80, hours: 40 },
  sensitiveListeners: { levelDba: 75, hours: 40 },
} as const;

/**
 * Recommended daily limit in minutes at a steady level: 480 / 2^((L − 85) / 3), 85 dB(A) for eight hours with a 3 dB exchange rate.
 * Source: criteria for a recommended standard, occupational noise exposure, US public-health publication 98-126, 1998. An occupational limit, not one for music.
 */
export function occupationalDailyMinutes(levelDba: number): number {
  return 480 / power(2, (levelDba - 85) / 3);
}

/** Hours a week at a steady level that make up the reference exposure, by equal energy: hours / 10^((L − Lref) / 10) (ITU-T H.870). */
export function weeklyHours(levelDba: number, listener: keyof typeof weeklyReference = 'adults'): number {
  const reference = weeklyReference[listener];
  return reference.hours / pow10((levelDba - reference.levelDba) / 10);
}

/** Sound exposure p² t in Pa² h of `hours` at a steady level; 80 dB(A) for 40 h is 1.6 Pa² h. */
export function exposurePascalSquaredHours(levelDba: number, hours: number): number {
  return referencePascals * referencePascals * pow10(levelDba / 10) * hours;
}

/** Share of the weekly reference exposure that `hours` at a steady level use up; shares of several levels add. */
export function weeklyShare(levelDba: number, hours: number, listener: keyof typeof weeklyReference = 'adults'): number {
  return hours / weeklyHours(levelDba, listener);
}
