/** The estimate of exposure in words. Pure. */
import { dailyShare, rollingWeekShare } from '../../dsp/listening/index.ts';
import type { HearingCalibration, HearingState, ListenerKind, PlaybackEquipment } from './hearing-state.ts';

/** Readings of a sound-level meter that can be of this noise in a room; under it there is only the room, over it nobody should stay. */
export const quietestReadingDba = 40;
export const loudestReadingDba = 95;

/** dB(A) of an entry such as "72", "72.4" or "72,4 dB(A)"; a sentence when it is none. */
export function readReading(text: string): number | string {
  const found = /^\s*(\d{1,3}(?:[.,]\d{1,2})?)\s*(?:dB\s*(?:\(?\s*A\s*\)?)?)?\s*$/i.exec(text);
  if (!found) return `"${text.trim()}" is not a reading in dB(A); write 72 or 72.4.`;
  const dba = Number(found[1]!.replace(',', '.'));
  if (dba < quietestReadingDba) return `${dba} dB(A) is as quiet as a room without the noise. Raise the monitor level until the meter reads some 70, then enter that.`;
  if (dba > loudestReadingDba) return `${dba} dB(A) is too loud to calibrate at, and to listen to. Turn the monitor level down, then read the meter again.`;
  return dba;
}

/** "12 %", "under 1 %", "0 %" */
export function shareWords(share: number): string {
  if (share === 0) return '0 %';
  return share < 0.01 ? 'under 1 %' : `${Math.round(100 * share)} %`;
}

export function dayWords(state: HearingState, today: string): string {
  return `Today: ${shareWords(dailyShare(state.days, today))} of the daily limit recommended for noise at work, 85 dB(A) for 8 hours (NIOSH).`;
}

export function weekWords(state: HearingState, today: string): string {
  const reference = state.listener === 'adults' ? '80 dB(A) for 40 hours, adults' : '75 dB(A) for 40 hours, children and sensitive ears';
  return `Today and the six days before: ${shareWords(rollingWeekShare(state.days, today, state.listener))} of the weekly reference of WHO and ITU, ${reference}.`;
}

export const equipmentWords: Readonly<Record<PlaybackEquipment, string>> = { loudspeakers: 'loudspeakers', headphones: 'headphones' };
export const listenerWords: Readonly<Record<ListenerKind, string>> = { adults: 'an adult', sensitiveListeners: 'a child, or sensitive ears' };

/** "72 dB(A) with the monitor at −20 dB, loudspeakers, 2026-11-26" */
export function calibrationWords({ levelDba, monitorDb, equipment, day }: HearingCalibration): string {
  return `${Number(levelDba.toFixed(1))} dB(A) with the monitor at ${Math.round(monitorDb) < 0 ? '−' : ''}${Math.abs(Math.round(monitorDb))} dB, ${equipmentWords[equipment]}, ${day}`;
}

/** Common practice, no source. */
export const hearingCaution = 'Loud sound harms hearing for good, often without pain and without being noticed. Start low. Ringing or dullness after listening means that it was too loud or too long: rest your ears, and see a doctor if it stays.';

/** What the estimate is not. */
export const hearingLimits: readonly string[] = [
  'It is an estimate. It does not replace a dosemeter or medical advice, and keeping under a limit is no promise of safety: hearing differs from person to person.',
  'It holds for this output device, its volume, this place in the room and this visit. Whoever changes one of them calibrates again.',
  'It counts only what this page played after the calibration, not the other sound of the day. 3 dB too low a reading halves every share.',
  'NIOSH publication 98-126 (1998) limits noise at work; Recommendation ITU-T H.870 of WHO and ITU is meant for personal listening. The A curve is that of IEC 61672-1.',
];

export const headphoneLimit = 'A sound-level meter held to a headphone without a coupler for it reads unreliably, and what reaches the eardrum is another level still. Take the figures below as rough at best.';

/** For the report: what was heard while this page was calibrated; empty when it was not. */
export function hearingReport(state: HearingState, today: string): readonly string[] {
  if (state.calibration === null) return [];
  return [
    `Calibrated: ${calibrationWords(state.calibration)}.`,
    ...(state.heardDba === null ? [] : [`Last heard: ${Math.round(state.heardDba)} dB(A).`]),
    dayWords(state, today),
    weekWords(state, today),
    ...(state.calibration.equipment === 'headphones' ? [headphoneLimit] : []),
    ...hearingLimits,
  ];
}

/** What is told once when a half or the whole of a limit is passed; the whole of one before the half of the other. */
export function passedWords(before: HearingState['passed'], after: HearingState['passed']): string | null {
  const rest = 'an estimate. Rest your ears';
  if (after.ofDay > before.ofDay && after.ofDay === 2) return `The daily limit recommended for noise at work is used up: ${rest}.`;
  if (after.ofWeek > before.ofWeek && after.ofWeek === 2) return `The weekly reference for listening is used up: ${rest}.`;
  if (after.ofDay > before.ofDay) return `Half the daily limit recommended for noise at work is used up: ${rest}, or turn down.`;
  if (after.ofWeek > before.ofWeek) return `Half the weekly reference for listening is used up: ${rest}, or turn down.`;
  return null;
}
