/** Readers of single fields of untrusted data: each returns a trusted value or refuses, naming where, expected and got. */
import { quoted, refuseField } from './setting-error.ts';

export type UnknownRecord = Readonly<Record<string, unknown>>;

/** An object with exactly the fields named; `optional` ones may be absent. */
export function readRecord(value: unknown, where: string, fields: readonly string[], optional: readonly string[] = []): UnknownRecord {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) refuseField(where || 'file', 'an object', value);
  const record = value as UnknownRecord;
  for (const field of fields) {
    if (!Object.hasOwn(record, field) && !optional.includes(field)) refuseField(join(where, field), 'a value', undefined);
  }
  for (const field of Object.keys(record)) {
    if (!fields.includes(field)) refuseField(join(where, shownName(field)), `one of the fields ${fields.join(', ')}`, record[field]);
  }
  return record;
}

export function readList(value: unknown, where: string, maximum: number): readonly unknown[] {
  if (!Array.isArray(value) || value.length > maximum) refuseField(where, `a list of at most ${maximum}`, value);
  return value as readonly unknown[];
}

export function readText(value: unknown, where: string, maximumLength: number): string {
  if (typeof value !== 'string' || value.length > maximumLength) refuseField(where, `text of at most ${maximumLength} characters`, value);
  return value as string;
}

export function readBoolean(value: unknown, where: string): boolean {
  if (typeof value !== 'boolean') refuseField(where, 'true or false', value);
  return value as boolean;
}

export function readNumber(value: unknown, where: string, minimum: number, maximum: number): number {
  if (typeof value !== 'number' || !(value >= minimum && value <= maximum)) refuseField(where, `a number from ${minimum} to ${maximum}`, value);
  return value as number;
}

export function readWhole(value: unknown, where: string, minimum: number, maximum: number): number {
  if (typeof value !== 'number' || !Number.isInteger(value) || !(value >= minimum && value <= maximum)) refuseField(where, `a whole number from ${minimum} to ${maximum}`, value);
  return value as number;
}

export function readOneOf<T extends string | number>(value: unknown, where: string, choices: readonly T[]): T {
  if (!choices.includes(value as T)) refuseField(where, choices.length === 1 ? JSON.stringify(choices[0]) : `one of ${choices.map((choice) => JSON.stringify(choice)).join(', ')}`, value);
  return value as T;
}

/** A name that a stranger chose: as it stands where it could be a field's, else quoted. */
function shownName(field: string): string {
  return /^[A-Za-z0-9_-]{1,60}$/.test(field) ? field : quoted(field);
}

/** `path[1]` and `values` → `path[1].values` */
export function join(where: string, field: string): string {
  return where ? `${where}.${field}` : field;
}
