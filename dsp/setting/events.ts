/** The log of what was changed while playing: with the loop that played, enough to render the same performance again, bit for bit. */
import type { OnTrial, PathSetting } from '../path/index.ts';
import { resolveValues, stageById } from '../stages/index.ts';
import { join, readBoolean, readList, readNumber, readOneOf, readRecord, readText } from './fields.ts';
import { maximumStages, readOnTrial, readStage } from './parse.ts';
import { refuseField, SettingError } from './setting-error.ts';
import { stageContent } from './write.ts';

export const eventsFormat = 'stagebench/events';
const largestFrame = Number.MAX_SAFE_INTEGER;

/** A change and the base frame, since the path was reset, before which it was asked for; it landed as it would land again. */
export type LoggedChange = { readonly frame: number } & (
  /** Some values of one stage. */
  | { readonly kind: 'values'; readonly stageIndex: number; readonly values: Readonly<Record<string, number | string>> }
  /** Anything else about the path, or what is on trial. */
  | { readonly kind: 'path'; readonly stages: PathSetting['stages']; readonly onTrial: OnTrial }
  | { readonly kind: 'switch'; readonly trialIn: boolean }
  /** Ratios of the level match. */
  | { readonly kind: 'match'; readonly inGain: number; readonly outGain: number }
  /** The loop was moved to a frame, or its region was changed (end not included). */
  | { readonly kind: 'position'; readonly positionFrame: number; readonly startFrame: number; readonly endFrame: number }
);

export interface PlayingLog {
  /** Identifier of the loop that played. */
  readonly programme: string;
  readonly rateHz: number;
  /** How long it played. */
  readonly frames: number;
  /** By ascending frame; at frame 0 stand a `path`, a `switch`, a `match` and a `position`. */
  readonly changes: readonly LoggedChange[];
}

/** Canonical text. */
export function writeEvents(log: PlayingLog): string {
  const changes = log.changes.map((change) => (change.kind === 'path'
    ? { frame: change.frame, kind: change.kind, stages: change.stages.map(stageContent), keys: change.stages.map(({ key }) => key), onTrial: onTrialContent(change.onTrial, change.stages) }
    : change));
  return `${JSON.stringify({ format: eventsFormat, version: 1, programme: log.programme, rateHz: log.rateHz, frames: log.frames, changes }, null, 1)}\n`;
}

function onTrialContent(onTrial: OnTrial, stages: PathSetting['stages']): unknown {
  return onTrial.kind === 'path' ? 'path' : { stageIndex: stages.findIndex(({ key }) => key === onTrial.key) };
}

/** @throws SettingError with one sentence naming the field, what was expected and what was there */
export function parseEvents(text: string): PlayingLog {
  let parsed: unknown;
  try {
    parsed = JSON.parse(text);
  } catch {
    throw new SettingError('file: expected a log of changes in JSON, got text that is not JSON');
  }
  const file = readRecord(parsed, '', ['format', 'version', 'programme', 'rateHz', 'frames', 'changes']);
  readOneOf(file['format'], 'format', [eventsFormat]);
  readOneOf(file['version'], 'version', [1]);
  let lastFrame = 0;
  return {
    programme: readText(file['programme'], 'programme', 300),
    rateHz: readNumber(file['rateHz'], 'rateHz', 8000, 384_000),
    frames: readNumber(file['frames'], 'frames', 0, largestFrame),
    changes: readList(file['changes'], 'changes', 1_000_000).map((entry, index) => {
      const change = readChange(entry, `changes[${index}]`);
      if (change.frame < lastFrame) refuseField(`changes[${index}].frame`, `at least ${lastFrame}, the frame before it`, change.frame);
      lastFrame = change.frame;
      return change;
    }),
  };
}

const changeFields = {
  values: ['stageIndex', 'values'],
  path: ['stages', 'keys', 'onTrial'],
  switch: ['trialIn'],
  match: ['inGain', 'outGain'],
  position: ['positionFrame', 'startFrame', 'endFrame'],
} as const;

function readChange(entry: unknown, where: string): LoggedChange {
  const kind = readOneOf((entry as Readonly<Record<string, unknown>> | null)?.['kind'], join(where, 'kind'), Object.keys(changeFields) as (keyof typeof changeFields)[]);
  const record = readRecord(entry, where, ['frame', 'kind', ...changeFields[kind]]);
  const number = (field: string, maximum = largestFrame) => readNumber(record[field], join(where, field), 0, maximum);
  const frame = number('frame');
  switch (kind) {
    case 'switch': return { frame, kind, trialIn: readBoolean(record['trialIn'], join(where, 'trialIn')) };
    case 'match': return { frame, kind, inGain: number('inGain', 1), outGain: number('outGain', 1) };
    case 'position': return { frame, kind, positionFrame: number('positionFrame'), startFrame: number('startFrame'), endFrame: number('endFrame') };
    case 'values': {
      const { values } = record;
      if (typeof values !== 'object' || values === null || Array.isArray(values)) refuseField(join(where, 'values'), 'an object', values);
      return { frame, kind, stageIndex: number('stageIndex', maximumStages - 1), values: values as Record<string, number | string> };
    }
    case 'path': {
      // Memory follows a stage that is moved by its key, so the log keeps what a setting file does not.
      const keys = readList(record['keys'], join(where, 'keys'), maximumStages).map((key, index) => readText(key, join(where, `keys[${index}]`), 40));
      const stages = readList(record['stages'], join(where, 'stages'), maximumStages)
        .map((stage, index) => ({ ...readStage(stage, index, join(where, `stages[${index}]`)), key: keys[index] ?? '' }));
      if (new Set(keys).size !== stages.length || keys.length !== stages.length) refuseField(join(where, 'keys'), `${stages.length} different keys, one for each stage`, record['keys']);
      const onTrial = readOnTrial(record['onTrial'], join(where, 'onTrial'), stages.length);
      return { frame, kind, stages, onTrial: onTrial === 'path' ? { kind: 'path' } : { kind: 'stage', key: stages[onTrial.stageIndex]!.key } };
    }
  }
}

/** The path after a change of values. @throws SettingError where the path has no such stage or value */
export function applyValues(path: PathSetting, change: LoggedChange & { readonly kind: 'values' }): PathSetting {
  const stage = path.stages[change.stageIndex];
  if (!stage) throw new SettingError(`changes: expected a stage from 0 to ${path.stages.length - 1}, got ${change.stageIndex}`);
  let values;
  try {
    values = resolveValues(stageById(stage.stage), { ...stage.values, ...change.values });
  } catch (error) {
    throw new SettingError(`changes: ${(error as Error).message}`);
  }
  return { ...path, stages: path.stages.map((other, index) => (index === change.stageIndex ? { ...other, values } : other)) };
}

/** The smallest change that turns one path into another: values of one stage where nothing else differs. */
export function changeBetween(before: PathSetting['stages'], trialBefore: OnTrial, after: PathSetting['stages'], onTrial: OnTrial, frame: number): LoggedChange {
  const different = after.flatMap((stage, index) => (stage === before[index] ? [] : [index]));
  const index = different[0];
  const was = index === undefined ? undefined : before[index];
  if (index !== undefined && was !== undefined && different.length === 1 && before.length === after.length && onTrial === trialBefore) {
    const now = after[index]!;
    if (now.key === was.key && now.stage === was.stage && now.inCircuit === was.inCircuit && now.reversed === was.reversed) {
      const values = Object.fromEntries(Object.entries(now.values).filter(([id, value]) => value !== was.values[id]));
      return { frame, kind: 'values', stageIndex: index, values };
    }
  }
  return { frame, kind: 'path', stages: after, onTrial };
}
