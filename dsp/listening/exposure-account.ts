import { ratioToDecibels } from '../math/index.ts';
import { exposurePascalSquaredHours, occupationalDailyMinutes, weeklyReference } from './exposure.ts';

/**
 * Exposure added up by day from what a calibrated playback chain put out. The weekly figure is energy, so pieces of any length sum to the same;
 * the daily one is Σ time / permitted time (criteria document, publication 98-126), of the mean level of each piece. All levels count,
 * also those below 80 dB(A), which that document leaves out (from memory).
 */

/** What a sound-level meter read while the output had this A-weighted mean square (1 = a full-scale constant). */
export interface PlaybackCalibration {
  readonly levelDba: number;
  readonly meanSquare: number;
}

/** Level at the ear of an output with this A-weighted mean square; −∞ for silence. */
export function playedLevelDba(calibration: PlaybackCalibration, meanSquare: number): number {
  return calibration.levelDba + ratioToDecibels(Math.sqrt(meanSquare / calibration.meanSquare));
}

export interface DayExposure {
  /** Local date, ISO: "2026-11-26". */
  readonly day: string;
  /** Of the recommended occupational daily limit; 1 is all of it. */
  readonly occupationalShare: number;
  readonly pascalSquaredHours: number;
  /** How long something sounded. */
  readonly seconds: number;
}

const secondsPerHour = 3600;
/** A week is today and the six days before. */
const daysPerWeek = 7;

/** `seconds` at a mean level of `levelDba` added to its day; days in order, those more than a week before it dropped. */
export function withExposure(days: readonly DayExposure[], day: string, levelDba: number, seconds: number): readonly DayExposure[] {
  const before = days.find((entry) => entry.day === day) ?? { day, occupationalShare: 0, pascalSquaredHours: 0, seconds: 0 };
  const entry: DayExposure = {
    day,
    occupationalShare: before.occupationalShare + seconds / 60 / occupationalDailyMinutes(levelDba),
    pascalSquaredHours: before.pascalSquaredHours + exposurePascalSquaredHours(levelDba, seconds / secondsPerHour),
    seconds: before.seconds + seconds,
  };
  const others = days.filter((other) => other.day !== day && daysBetween(other.day, day) < daysPerWeek);
  return [...others, entry].sort((a, b) => (a.day < b.day ? -1 : 1));
}

/** Share of the recommended daily limit used up on `day`. */
export function dailyShare(days: readonly DayExposure[], day: string): number {
  return days.find((entry) => entry.day === day)?.occupationalShare ?? 0;
}

/** Share of the weekly reference exposure used up on `day` and the six days before. */
export function rollingWeekShare(days: readonly DayExposure[], day: string, listener: keyof typeof weeklyReference): number {
  const { levelDba, hours } = weeklyReference[listener];
  const used = days.reduce((sum, entry) => {
    const age = daysBetween(entry.day, day);
    return age >= 0 && age < daysPerWeek ? sum + entry.pascalSquaredHours : sum;
  }, 0);
  return used / exposurePascalSquaredHours(levelDba, hours);
}

function daysBetween(from: string, to: string): number {
  return dayNumber(to) - dayNumber(from);
}

/** Days of the Gregorian calendar, counted through years that begin in March, so that a leap day comes last; NaN for what is no ISO date. */
function dayNumber(iso: string): number {
  const [year, month, day] = iso.split('-').map(Number) as [number, number, number];
  const shifted = (month + 9) % 12;
  const years = month < 3 ? year - 1 : year;
  return 365 * years + Math.floor(years / 4) - Math.floor(years / 100) + Math.floor(years / 400) + Math.floor((153 * shifted + 2) / 5) + day;
}
