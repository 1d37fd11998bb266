/** What notes and tickets say of a moment: what was heard, which part of it, what was measured, of which setting. Read from untrusted data and written; an exact pair. */
import type { FrozenSetting, HeardProgramme, Measurement, NotePin, Region, Setting, Verdict } from './contract.ts';
import { isDate } from './dates.ts';
import { join, readList, readNumber, readOneOf, readRecord, readText, readWhole } from './fields.ts';
import { refuseField, SettingError } from './setting-error.ts';
import { checksumOf, shownChecksum, textSha256 } from './text-checksum.ts';

export const verdicts: readonly Verdict[] = ['right', 'not yet', 'wrong'];
/** Of what can be listened to, a day. */
const longestSeconds = 86_400;
/** Of the harmonics that the bench shows and measures again. */
export const highestOrder = 10;
export const mostOrders = highestOrder - 1;
export const lowestTrimDb = -200;

/** Parses the text of a setting file; given from outside, because the parser of settings reads notes. */
export type ParseSetting = (text: string) => Setting;

export function readDate(value: unknown, where: string): string {
  const date = readText(value, where, 10);
  if (!isDate(date)) refuseField(where, 'a date such as 2026-11-25', date);
  return date;
}

export function readVerdict(value: unknown, where: string): Verdict {
  return readOneOf(value, where, verdicts);
}

export function readSha256(value: unknown, where: string): string {
  const text = readText(value, where, 64);
  if (!/^[0-9a-f]{64}$/.test(text)) refuseField(where, '64 hexadecimal digits', text);
  return text;
}

export function readRegion(value: unknown, where: string): Region | null {
  if (value === null) return null;
  const record = readRecord(value, where, ['startSeconds', 'endSeconds']);
  const startSeconds = readNumber(record['startSeconds'], join(where, 'startSeconds'), 0, longestSeconds);
  const endSeconds = readNumber(record['endSeconds'], join(where, 'endSeconds'), 0, longestSeconds);
  if (!(endSeconds > startSeconds)) refuseField(join(where, 'endSeconds'), `more than ${startSeconds} s`, endSeconds);
  return { startSeconds, endSeconds };
}

export function readProgramme(value: unknown, where: string): HeardProgramme | null {
  if (value === null) return null;
  const record = readRecord(value, where, ['title', 'identifier', 'sha256', 'rateHz', 'trimDb']);
  return {
    title: readText(record['title'], join(where, 'title'), 300),
    identifier: readText(record['identifier'], join(where, 'identifier'), 300),
    sha256: record['sha256'] === null ? null : readSha256(record['sha256'], join(where, 'sha256')),
    rateHz: readNumber(record['rateHz'], join(where, 'rateHz'), 1, 1_000_000),
    trimDb: readNumber(record['trimDb'], join(where, 'trimDb'), lowestTrimDb, 0),
  };
}

export function readMeasurement(value: unknown, where: string): Measurement | null {
  if (value === null) return null;
  const record = readRecord(value, where, ['frequencyHz', 'levelDbu', 'fundamentalDbu', 'orders']);
  return {
    frequencyHz: readNumber(record['frequencyHz'], join(where, 'frequencyHz'), 1, 100_000),
    levelDbu: readNumber(record['levelDbu'], join(where, 'levelDbu'), -120, 60),
    fundamentalDbu: readNumber(record['fundamentalDbu'], join(where, 'fundamentalDbu'), lowestMeasuredDb, 100),
    orders: readList(record['orders'], join(where, 'orders'), mostOrders).map((item, index) => {
      const at = `${where}.orders[${index}]`;
      const order = readRecord(item, at, ['order', 'db']);
      return { order: readWhole(order['order'], join(at, 'order'), 2, highestOrder), db: readNumber(order['db'], join(at, 'db'), lowestMeasuredDb, 100) };
    }),
  };
}

/** Stands for nothing at all. */
export const lowestMeasuredDb = -400;

/** The words of a checksum that does not agree; null where it does. */
export type Disagreement = string | null;

/** A setting inside another file: its file's own content, so that its text and checksum are those of the file it would be by itself. */
export function readFrozen(value: unknown, statedSha256: unknown, where: string, parse: ParseSetting): { readonly frozen: FrozenSetting; readonly disagreement: Disagreement } {
  const stated = readSha256(statedSha256, join(where, 'settingSha256'));
  const place = join(where, 'setting');
  if (typeof value !== 'object' || value === null || Array.isArray(value)) refuseField(place, 'an object', value);
  const { checksum, ...content } = value as Readonly<Record<string, unknown>>;
  const notes = content['notes'];
  if (!Array.isArray(notes) || notes.length > 0) refuseField(join(place, 'notes'), 'an empty list', notes);
  const text = `${JSON.stringify(value, null, 2)}\n`;
  const sha256 = textSha256(text);
  const inner = checksumOf(content);
  const [named, expected, got] = sha256 !== stated ? ['settingSha256', sha256, stated] : ['setting.checksum', inner, shownChecksum(checksum)];
  return {
    frozen: { setting: parsed(JSON.stringify(content), place, parse), text, sha256 },
    disagreement: sha256 === stated && checksum === inner ? null : `${join(where, named)}: expected ${expected}, got ${got}: the setting was changed after it was written`,
  };
}

function parsed(text: string, place: string, parse: ParseSetting): Setting {
  try {
    return parse(text);
  } catch (error) {
    throw new SettingError(`${place}: ${(error as Error).message}`);
  }
}

export function readPin(entry: unknown, where: string, parse: ParseSetting): NotePin {
  const record = readRecord(entry, where, ['programme', 'region', 'measurement', 'settingSha256', 'setting']);
  const { frozen, disagreement } = readFrozen(record['setting'], record['settingSha256'], where, parse);
  if (disagreement !== null) throw new SettingError(disagreement);
  return {
    programme: readProgramme(record['programme'], join(where, 'programme')),
    region: readRegion(record['region'], join(where, 'region')),
    measurement: readMeasurement(record['measurement'], join(where, 'measurement')),
    made: frozen,
  };
}

export function pinContent({ programme, region, measurement, made }: NotePin): object {
  return { programme: programmeContent(programme), region: regionContent(region), measurement: measurementContent(measurement), ...frozenContent(made) };
}

/** Two fields: the checksum, and the setting as its own file holds it. */
export function frozenContent({ sha256, text }: FrozenSetting): object {
  return { settingSha256: sha256, setting: JSON.parse(text) as object };
}

export function regionContent(region: Region | null): object | null {
  return region && { startSeconds: region.startSeconds, endSeconds: region.endSeconds };
}

export function programmeContent(programme: HeardProgramme | null): object | null {
  return programme && { title: programme.title, identifier: programme.identifier, sha256: programme.sha256, rateHz: programme.rateHz, trimDb: programme.trimDb };
}

export function measurementContent(measurement: Measurement | null): object | null {
  return measurement && {
    frequencyHz: measurement.frequencyHz, levelDbu: measurement.levelDbu, fundamentalDbu: measurement.fundamentalDbu,
    orders: measurement.orders.map(({ order, db }) => ({ order, db })),
  };
}
