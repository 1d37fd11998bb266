/** What is kept of hearing between visits (store `exposure`): a record a day under its date, and the choices beside it. Looked at like a file from a stranger. Pure. */
import type { DayExposure } from '../../dsp/listening/index.ts';
import type { HearingCalibration, HearingState } from './hearing-state.ts';

/** Keys that are no dates. */
export const lastTimeKey = 'last-time';
export const listenerKey = 'listener';

type Fields = Record<string, unknown>;

const isObject = (value: unknown): value is Fields => typeof value === 'object' && value !== null;
const isDate = (value: unknown): value is string => typeof value === 'string' && /^\d{4}-\d{2}-\d{2}$/.test(value);
const isFinite = (value: unknown): value is number => typeof value === 'number' && Number.isFinite(value);
const isAmount = (value: unknown): value is number => isFinite(value) && value >= 0;

/** What cannot be read is left out. */
export function readKeptHearing(kept: ReadonlyMap<string, unknown>): Pick<HearingState, 'days' | 'lastTime' | 'listener'> {
  return {
    days: [...kept].flatMap(([key, value]) => readDay(key, value)),
    lastTime: readCalibration(kept.get(lastTimeKey)),
    listener: kept.get(listenerKey) === 'sensitiveListeners' ? 'sensitiveListeners' : 'adults',
  };
}

function readDay(key: string, value: unknown): DayExposure[] {
  if (!isObject(value)) return [];
  const { day, occupationalShare, pascalSquaredHours, seconds } = value;
  const whole = isDate(day) && day === key && isAmount(occupationalShare) && isAmount(pascalSquaredHours) && isAmount(seconds);
  return whole ? [{ day, occupationalShare, pascalSquaredHours, seconds }] : [];
}

function readCalibration(value: unknown): HearingCalibration | null {
  if (!isObject(value)) return null;
  const { levelDba, meanSquare, equipment, monitorDb, day } = value;
  const whole = isFinite(levelDba) && isAmount(meanSquare) && (equipment === 'loudspeakers' || equipment === 'headphones') && isFinite(monitorDb) && isDate(day);
  return whole ? { levelDba, meanSquare, equipment, monitorDb, day } : null;
}
