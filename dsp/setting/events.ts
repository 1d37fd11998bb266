/** The log of what was changed while playing: enough to render the same performance again, bit for bit. */
import type { PathSetting } from '../path/index.ts';
import { resolveValues, stageById } from '../stages/index.ts';
import { join, readBoolean, readList, readNumber, readOneOf, readRecord } from './fields.ts';
import type { UnknownRecord } from './fields.ts';
import { refuseField, SettingError } from './setting-error.ts';

export const eventsFormat = 'stagebench/events';

/** A change and the base frame (since the path was reset) on which it landed. */
export type PathChange =
  | { readonly kind: 'values'; readonly frame: number; readonly stageIndex: number; readonly values: Readonly<Record<string, number | string>> }
  | { readonly kind: 'switch'; readonly frame: number; readonly trialIn: boolean };

/** Canonical text. */
export function writeEvents(events: readonly PathChange[]): string {
  return `${JSON.stringify({ format: eventsFormat, version: 1, events }, null, 2)}\n`;
}

/** @throws SettingError with one sentence naming the field, what was expected and what was there */
export function parseEvents(text: string): PathChange[] {
  let parsed: unknown;
  try {
    parsed = JSON.parse(text);
  } catch {
    throw new SettingError('file: expected a log of changes in JSON, got text that is not JSON');
  }
  const file = readRecord(parsed, '', ['format', 'version', 'events']);
  readOneOf(file['format'], 'format', [eventsFormat]);
  readOneOf(file['version'], 'version', [1]);
  let lastFrame = 0;
  return readList(file['events'], 'events', 1_000_000).map((entry, index) => {
    const event = readEvent(entry, `events[${index}]`);
    if (event.frame < lastFrame) refuseField(`events[${index}].frame`, `at least ${lastFrame}, the frame before it`, event.frame);
    lastFrame = event.frame;
    return event;
  });
}

function readEvent(entry: unknown, where: string): PathChange {
  const kind = readOneOf((entry as UnknownRecord | null)?.['kind'], join(where, 'kind'), ['values', 'switch']);
  const record = readRecord(entry, where, kind === 'values' ? ['kind', 'frame', 'stageIndex', 'values'] : ['kind', 'frame', 'trialIn']);
  const frame = readNumber(record['frame'], join(where, 'frame'), 0, Number.MAX_SAFE_INTEGER);
  if (kind === 'switch') return { kind, frame, trialIn: readBoolean(record['trialIn'], join(where, 'trialIn')) };
  const values = record['values'];
  if (typeof values !== 'object' || values === null || Array.isArray(values)) refuseField(join(where, 'values'), 'an object', values);
  return { kind, frame, stageIndex: readNumber(record['stageIndex'], join(where, 'stageIndex'), 0, 63), values: values as Record<string, number | string> };
}

/** The path after a change of values. @throws SettingError where the path has no such stage or value */
export function applyChange(path: PathSetting, change: PathChange & { readonly kind: 'values' }): PathSetting {
  const stage = path.stages[change.stageIndex];
  if (!stage) throw new SettingError(`events: expected a stage from 0 to ${path.stages.length - 1}, got ${change.stageIndex}`);
  let values;
  try {
    values = resolveValues(stageById(stage.stage), { ...stage.values, ...change.values });
  } catch (error) {
    throw new SettingError(`events: ${(error as Error).message}`);
  }
  return { ...path, stages: path.stages.map((other, index) => (index === change.stageIndex ? { ...other, values } : other)) };
}
