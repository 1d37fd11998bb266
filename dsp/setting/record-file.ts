/** What the files of comparisons by ear share: JSON with a format and a version, and figures that can be reckoned anew. */
import { readOneOf, readRecord, type UnknownRecord } from './fields.ts';
import { SettingError } from './setting-error.ts';

/** Characters of such a file. */
export const maximumRecordLength = 16_000_000;

/** @param article as in "a blind comparison". @throws SettingError */
export function readFileRecord(text: string, format: string, version: number, article: string, fields: readonly string[]): UnknownRecord {
  if (text.length > maximumRecordLength) throw new SettingError(`file: expected at most ${maximumRecordLength} characters, got ${text.length}`);
  let parsed: unknown;
  try {
    parsed = JSON.parse(text);
  } catch {
    throw new SettingError(`file: expected ${article} in JSON, got text that is not JSON`);
  }
  const named = parsed as { readonly format?: unknown; readonly version?: unknown } | null;
  readOneOf(named?.format, 'format', [format]);
  readOneOf(named?.version, 'version', [version]);
  return readRecord(parsed, '', ['format', 'version', ...fields]);
}

/** A refusal of the bench's own as one of the file. */
export function rethrown(where: string, check: () => void): void {
  try {
    check();
  } catch (error) {
    throw new SettingError(`${where}.${(error as Error).message}`);
  }
}

/** Whether two values are the same JSON, whatever the order of their fields. */
export function sameJson(a: unknown, b: unknown): boolean {
  return JSON.stringify(ordered(a)) === JSON.stringify(ordered(b));
}

function ordered(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(ordered);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1)).map(([name, entry]) => [name, ordered(entry)]));
}
