/** The log of what was changed while playing: with the loop that played, enough to render the same performance again, bit for bit. */
import { supply, surroundings } from '../path/index.ts';
import type { OnTrial, PathSetting } from '../path/index.ts';
import { resolveValues, stageById } from '../stages/index.ts';
import type { Setting } from './contract.ts';
import { join, readBoolean, readList, readNumber, readOneOf, readRecord, readText } from './fields.ts';
import { maximumStages, readJoints, readOnTrial, readSheet, readStage } from './parse.ts';
import { refuseField, SettingError } from './setting-error.ts';
import { sheetContent, stageContent } from './write.ts';

export const eventsFormat = 'stagebench/events';
/** Version 1 knew nothing of what stands round a path, of its supply and of joints. */
const eventsVersions = [1, 2] as const;
const largestFrame = Number.MAX_SAFE_INTEGER;

/** What plays, but for what is stored with the path's frame: rate, factor, ladder, level of full scale. */
export type Played = Pick<PathSetting, 'stages' | 'surroundings' | 'supply'> & { readonly joints: Setting['joints']; readonly onTrial: OnTrial };

/** A change and the base frame, since the path was reset, before which it was asked for; it landed as it would land again. */
export type LoggedChange = { readonly frame: number } & (
  /** Some values of one stage. */
  | { readonly kind: 'values'; readonly stageIndex: number; readonly values: Readonly<Record<string, number | string>> }
  /** Anything else about the path, or what is on trial. */
  | ({ readonly kind: 'path' } & Played)
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
  const changes = log.changes.map((change) => (change.kind === 'path' ? {
    frame: change.frame, kind: change.kind, stages: change.stages.map(stageContent), keys: change.stages.map(({ key }) => key), onTrial: onTrialContent(change.onTrial, change.stages),
    surroundings: sheetContent(surroundings, change.surroundings), supply: sheetContent(supply, change.supply), joints: change.joints,
  } : change));
  return `${JSON.stringify({ format: eventsFormat, version: 2, programme: log.programme, rateHz: log.rateHz, frames: log.frames, changes }, null, 1)}\n`;
}

function onTrialContent(onTrial: OnTrial, stages: PathSetting['stages']): unknown {
  if (onTrial.kind === 'path') return 'path';
  const stageIndex = stages.findIndex(({ key }) => key === onTrial.key);
  return onTrial.kind === 'stage' ? { stageIndex } : { stageIndex, without: onTrial.mechanism };
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
  const version = readOneOf(file['version'], 'version', eventsVersions);
  let lastFrame = 0;
  return {
    programme: readText(file['programme'], 'programme', 300),
    rateHz: readNumber(file['rateHz'], 'rateHz', 8000, 384_000),
    frames: readNumber(file['frames'], 'frames', 0, largestFrame),
    changes: readList(file['changes'], 'changes', 1_000_000).map((entry, index) => {
      const change = readChange(entry, `changes[${index}]`, version);
      if (change.frame < lastFrame) refuseField(`changes[${index}].frame`, `at least ${lastFrame}, the frame before it`, change.frame);
      lastFrame = change.frame;
      return change;
    }),
  };
}

const changeFields = {
  values: ['stageIndex', 'values'],
  path: ['stages', 'keys', 'onTrial', 'surroundings', 'supply', 'joints'],
  switch: ['trialIn'],
  match: ['inGain', 'outGain'],
  position: ['positionFrame', 'startFrame', 'endFrame'],
} as const;

const sinceVersion2 = ['surroundings', 'supply', 'joints'];

function readChange(entry: unknown, where: string, version: number): LoggedChange {
  const kind = readOneOf((entry as Readonly<Record<string, unknown>> | null)?.['kind'], join(where, 'kind'), Object.keys(changeFields) as (keyof typeof changeFields)[]);
  const record = readRecord(entry, where, ['frame', 'kind', ...changeFields[kind]], version < 2 ? sinceVersion2 : []);
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
      return {
        frame, kind, stages,
        surroundings: readSheet(surroundings, record['surroundings'] ?? null, join(where, 'surroundings')),
        supply: readSheet(supply, record['supply'] ?? null, join(where, 'supply')),
        joints: readJoints(record['joints'] ?? null, join(where, 'joints'), stages.length),
        onTrial: onTrialOf(onTrial, stages),
      };
    }
  }
}

function onTrialOf(stored: ReturnType<typeof readOnTrial>, stages: PathSetting['stages']): OnTrial {
  if (stored === 'path') return { kind: 'path' };
  const { key } = stages[stored.stageIndex]!;
  return stored.without === undefined ? { kind: 'stage', key } : { kind: 'without', key, mechanism: stored.without };
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

/** The smallest change that turns what was played into what is asked for: values of one stage where nothing else differs. */
export function changeBetween(before: Played, after: Played, frame: number): LoggedChange {
  const different = after.stages.flatMap((stage, index) => (stage === before.stages[index] ? [] : [index]));
  const [index] = different;
  const was = index === undefined ? undefined : before.stages[index];
  const sameRound = after.onTrial === before.onTrial && after.joints === before.joints && after.surroundings === before.surroundings && after.supply === before.supply;
  if (index !== undefined && was !== undefined && different.length === 1 && before.stages.length === after.stages.length && sameRound) {
    const now = after.stages[index]!;
    if (now.key === was.key && now.stage === was.stage && now.inCircuit === was.inCircuit && now.reversed === was.reversed && now.joined === was.joined) {
      const values = Object.fromEntries(Object.entries(now.values).filter(([id, value]) => value !== was.values[id]));
      return { frame, kind: 'values', stageIndex: index, values };
    }
  }
  const { stages, surroundings: around, supply: fed, joints, onTrial } = after;
  return { frame, kind: 'path', stages, surroundings: around, supply: fed, joints, onTrial };
}
