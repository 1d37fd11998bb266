/** Text → setting. Trusts nothing; what it returns can be used without further checks. */
import { oversamplingFactors, supply, surroundings } from '../path/index.ts';
import type { PathStage } from '../path/index.ts';
import { resolveValues, stageById, stages } from '../stages/index.ts';
import type { SheetDefinition, StageValues } from '../stages/index.ts';
import { subStepsOfRule } from '../circuit/index.ts';
import type { IntegrationRule } from '../circuit/index.ts';
import type { Setting, SettingNote, StoredJoint, StoredLevelMatch, StoredRule } from './contract.ts';
import { join, readBoolean, readList, readNumber, readOneOf, readRecord, readText } from './fields.ts';
import type { UnknownRecord } from './fields.ts';
import { migrate } from './migrate.ts';
import { readDate, readPin, readVerdict } from './heard.ts';
import { refuseField, SettingError } from './setting-error.ts';
import { checksumOf, shownChecksum } from './text-checksum.ts';
import { settingFormat } from './write.ts';

/** A file may hold more stages than the page shows at once; more than this is taken for a mistake. */
export const maximumStages = 64;
/** Characters of a setting file: every pinned note holds the setting it speaks of. */
export const maximumTextLength = 2_000_000;
/** Stands for every estimate from here on, and for none. */
export const greatestRuleErrorDb = 400;
export const greatestJointDifferenceDb = 400;
const fileFields = ['format', 'version', 'numerics', 'title', 'notes', 'baseRateHz', 'fullScaleDbu', 'oversamplingFactor', 'ladder',
  'surroundings', 'supply', 'path', 'joints', 'levelMatch', 'rules', 'checksum'] as const;

/** What a hand need not write. */
export const optionalFields = ['surroundings', 'supply', 'joints', 'rules', 'checksum'] as const;

export interface SettingFile {
  readonly setting: Setting;
  /** `numerics` of the bench that wrote it: a hash made under another number may differ. */
  readonly numerics: number;
}

/** @throws SettingError with one sentence naming the field, what was expected and what was there */
export function parseSetting(text: string): Setting {
  return parseSettingFile(text).setting;
}

/** As `parseSetting`, with what the file says about itself. */
export function parseSettingFile(text: string): SettingFile {
  if (text.length > maximumTextLength) throw new SettingError(`file: expected at most ${maximumTextLength} characters, got ${text.length}`);
  let parsed: unknown;
  try {
    parsed = JSON.parse(text);
  } catch {
    throw new SettingError('file: expected a setting in JSON, got text that is not JSON');
  }
  if (typeof parsed !== 'object' || parsed === null || Array.isArray(parsed)) refuseField('file', 'an object', parsed);
  const outer = parsed as UnknownRecord;
  readOneOf(outer['format'], 'format', [settingFormat]);
  verifyChecksum(outer);
  return readFile(readRecord(migrate(outer), '', fileFields, optionalFields));
}

/** A file without a checksum is a hand-written one and passes; a wrong one was changed after it was frozen. */
function verifyChecksum(file: UnknownRecord): void {
  if (file['checksum'] === undefined) return;
  const { checksum, ...content } = file;
  const expected = checksumOf(content);
  if (checksum !== expected) {
    throw new SettingError(`checksum: expected ${expected}, got ${shownChecksum(checksum)}: the file was changed after it was frozen; remove the checksum line to use it as it is`);
  }
}

function readFile(file: UnknownRecord): SettingFile {
  const stageList = readList(file['path'], 'path', maximumStages).map((entry, index) => readStage(entry, index, `path[${index}]`));
  const setting: Setting = {
    title: readText(file['title'], 'title', 200),
    notes: readList(file['notes'], 'notes', 1000).map((entry, index) => readNote(entry, `notes[${index}]`)),
    baseRateHz: readNumber(file['baseRateHz'], 'baseRateHz', 8000, 384_000),
    path: {
      stages: stageList,
      oversamplingFactor: readOneOf(file['oversamplingFactor'], 'oversamplingFactor', oversamplingFactors),
      ladder: readOneOf(file['ladder'], 'ladder', ['linear-phase', 'minimum-latency']),
      fullScaleDbu: readOneOf(file['fullScaleDbu'], 'fullScaleDbu', [18, 22, 24]),
      surroundings: readSheet(surroundings, file['surroundings'] ?? null, 'surroundings'),
      supply: readSheet(supply, file['supply'] ?? null, 'supply'),
    },
    levelMatch: readLevelMatch(file['levelMatch'], stageList.length),
    rules: readRules(file['rules'] ?? null, stageList.length),
    joints: readJoints(file['joints'] ?? null, 'joints', stageList.length),
  };
  return { setting, numerics: readNumber(file['numerics'], 'numerics', 1, Number.MAX_SAFE_INTEGER) };
}

/** The stage in place `index`. */
export function readStage(entry: unknown, index: number, where: string): PathStage {
  const record = readRecord(entry, where, ['stage', 'inCircuit', 'reversed', 'joined', 'values'], ['joined']);
  const stage = readOneOf(record['stage'], join(where, 'stage'), stages.map(({ id }) => id));
  return {
    key: `s${index + 1}`,
    stage,
    inCircuit: readBoolean(record['inCircuit'], join(where, 'inCircuit')),
    reversed: readBoolean(record['reversed'], join(where, 'reversed')),
    joined: readBoolean(record['joined'] ?? false, join(where, 'joined')),
    values: readValues(stageById(stage), record['values'], where, join(where, 'values')),
  };
}

/** What stands round the path or supplies it. */
export function readSheet(sheet: SheetDefinition, entry: unknown, where: string): StageValues | null {
  return entry === null ? null : readValues(sheet, entry, where, where);
}

/** Complete values of a table; `owner` is named where one is out of its range. */
function readValues(table: SheetDefinition, entry: unknown, owner: string, where: string): StageValues {
  const given = readRecord(entry, where, table.parameters.map(({ id }) => id));
  try {
    return resolveValues(table, given);
  } catch (error) {
    throw new SettingError(`${owner}: ${(error as Error).message}`);
  }
}

function readNote(entry: unknown, where: string): SettingNote {
  const record = readRecord(entry, where, ['date', 'text', 'verdict', 'pin'], ['verdict', 'pin']);
  return {
    date: readDate(record['date'], join(where, 'date')),
    text: readText(record['text'], join(where, 'text'), 10_000),
    ...(record['verdict'] === undefined ? {} : { verdict: readVerdict(record['verdict'], join(where, 'verdict')) }),
    ...(record['pin'] === undefined ? {} : { pin: readPin(record['pin'], join(where, 'pin'), parseSetting) }),
  };
}

function readLevelMatch(entry: unknown, stageCount: number): StoredLevelMatch | null {
  if (entry === null) return null;
  const where = 'levelMatch';
  const record = readRecord(entry, where, ['onTrial', 'inGainDb', 'outGainDb', 'residualDb', 'programme']);
  return {
    onTrial: readOnTrial(record['onTrial'], join(where, 'onTrial'), stageCount),
    inGainDb: readNumber(record['inGainDb'], join(where, 'inGainDb'), -200, 0),
    outGainDb: readNumber(record['outGainDb'], join(where, 'outGainDb'), -200, 0),
    residualDb: readNumber(record['residualDb'], join(where, 'residualDb'), -200, 200),
    programme: readText(record['programme'], join(where, 'programme'), 300),
  };
}

/** The circuit solver's rules, coarsest first. */
export const integrationRules = Object.keys(subStepsOfRule) as readonly IntegrationRule[];

function readRules(entry: unknown, stageCount: number): readonly (StoredRule | null)[] | null {
  return readForEachStage(entry, 'rules', stageCount, (stored, where) => {
    const record = readRecord(stored, where, ['rule', 'errorDb']);
    return {
      rule: readOneOf(record['rule'], join(where, 'rule'), integrationRules),
      errorDb: readNumber(record['errorDb'], join(where, 'errorDb'), 0, greatestRuleErrorDb),
    };
  });
}

export function readJoints(entry: unknown, where: string, stageCount: number): readonly (StoredJoint | null)[] | null {
  return readForEachStage(entry, where, stageCount, (stored, place) => {
    const record = readRecord(stored, place, ['joined', 'differenceDb']);
    return {
      joined: readBoolean(record['joined'], join(place, 'joined')),
      differenceDb: readNumber(record['differenceDb'], join(place, 'differenceDb'), 0, greatestJointDifferenceDb),
    };
  });
}

function readForEachStage<T>(entry: unknown, where: string, stageCount: number, read: (stored: unknown, where: string) => T): (T | null)[] | null {
  if (entry === null) return null;
  const entries = readList(entry, where, stageCount);
  if (entries.length !== stageCount) throw new SettingError(`${where}: expected one for each of ${stageCount} stages, got ${entries.length}`);
  return entries.map((stored, index) => (stored === null ? null : read(stored, `${where}[${index}]`)));
}

/** What is or was on trial, as files say it. */
export function readOnTrial(entry: unknown, where: string, stageCount: number): StoredLevelMatch['onTrial'] {
  if (entry === 'path') return 'path';
  const ofMechanism = typeof entry === 'object' && entry !== null && Object.hasOwn(entry, 'without');
  const record = readRecord(entry, where, ofMechanism ? ['stageIndex', 'without'] : ['stageIndex']);
  const stageIndex = readNumber(record['stageIndex'], join(where, 'stageIndex'), 0, stageCount - 1);
  return !ofMechanism ? { stageIndex } : { stageIndex, without: readText(record['without'], join(where, 'without'), 60) };
}
