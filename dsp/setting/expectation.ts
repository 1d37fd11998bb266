/** What a setting is expected to sound like: written beside it once, compared with ever after. */
import { join, readList, readNumber, readOneOf, readRecord, readText, readWhole } from './fields.ts';
import { refuseField, SettingError } from './setting-error.ts';

export const expectationFormat = 'stagebench/expectation';

export interface ExpectedOrder {
  readonly order: number;
  /** Relative to the fundamental. */
  readonly db: number;
}

/** Harmonics of the whole path for one steady tone at its input. */
export interface ExpectedHarmonics {
  readonly frequencyHz: number;
  readonly levelDbu: number;
  readonly fundamentalDbu: number;
  readonly toleranceDb: number;
  /** Orders below this on both sides are not compared. */
  readonly floorDb: number;
  readonly orders: readonly ExpectedOrder[];
}

/** A render of one recording: its hash, and the recording it must null against. File names are relative to the folder. */
export interface ExpectedRender {
  readonly input: string;
  readonly passes: number;
  readonly rateHz: number;
  readonly sha256: string;
  readonly reference: { readonly file: string; readonly maximumNullDb: number } | null;
}

export interface Expectation {
  /** A hash made under another `numerics` is not compared. */
  readonly numerics: number;
  readonly harmonics: readonly ExpectedHarmonics[];
  readonly renders: readonly ExpectedRender[];
}

/** Canonical text. */
export function writeExpectation(expectation: Expectation): string {
  return `${JSON.stringify({ format: expectationFormat, version: 1, ...expectation }, null, 2)}\n`;
}

/** @throws SettingError with one sentence naming the field, what was expected and what was there */
export function parseExpectation(text: string): Expectation {
  let parsed: unknown;
  try {
    parsed = JSON.parse(text);
  } catch {
    throw new SettingError('file: expected an expectation in JSON, got text that is not JSON');
  }
  const file = readRecord(parsed, '', ['format', 'version', 'numerics', 'harmonics', 'renders']);
  readOneOf(file['format'], 'format', [expectationFormat]);
  readOneOf(file['version'], 'version', [1]);
  return {
    numerics: readNumber(file['numerics'], 'numerics', 1, Number.MAX_SAFE_INTEGER),
    harmonics: readList(file['harmonics'], 'harmonics', 100).map((entry, index) => readHarmonics(entry, `harmonics[${index}]`)),
    renders: readList(file['renders'], 'renders', 100).map((entry, index) => readRender(entry, `renders[${index}]`)),
  };
}

function readHarmonics(entry: unknown, where: string): ExpectedHarmonics {
  const record = readRecord(entry, where, ['frequencyHz', 'levelDbu', 'fundamentalDbu', 'toleranceDb', 'floorDb', 'orders']);
  return {
    frequencyHz: readNumber(record['frequencyHz'], join(where, 'frequencyHz'), 1, 100_000),
    levelDbu: readNumber(record['levelDbu'], join(where, 'levelDbu'), -120, 60),
    fundamentalDbu: readNumber(record['fundamentalDbu'], join(where, 'fundamentalDbu'), -300, 100),
    toleranceDb: readNumber(record['toleranceDb'], join(where, 'toleranceDb'), 0, 20),
    floorDb: readNumber(record['floorDb'], join(where, 'floorDb'), -300, 0),
    orders: readList(record['orders'], join(where, 'orders'), 50).map((item, index) => {
      const at = `${where}.orders[${index}]`;
      const order = readRecord(item, at, ['order', 'db']);
      return { order: readWhole(order['order'], join(at, 'order'), 2, 50), db: readNumber(order['db'], join(at, 'db'), -400, 100) };
    }),
  };
}

function readRender(entry: unknown, where: string): ExpectedRender {
  const record = readRecord(entry, where, ['input', 'passes', 'rateHz', 'sha256', 'reference']);
  const sha256 = readText(record['sha256'], join(where, 'sha256'), 64);
  if (!/^[0-9a-f]{64}$/.test(sha256)) refuseField(join(where, 'sha256'), '64 hexadecimal digits', sha256);
  return {
    input: readText(record['input'], join(where, 'input'), 1000),
    passes: readNumber(record['passes'], join(where, 'passes'), 1, 1000),
    rateHz: readNumber(record['rateHz'], join(where, 'rateHz'), 8000, 384_000),
    sha256,
    reference: record['reference'] === null ? null : readReference(record['reference'], join(where, 'reference')),
  };
}

function readReference(entry: unknown, where: string): ExpectedRender['reference'] {
  const record = readRecord(entry, where, ['file', 'maximumNullDb']);
  return { file: readText(record['file'], join(where, 'file'), 1000), maximumNullDb: readNumber(record['maximumNullDb'], join(where, 'maximumNullDb'), -300, 0) };
}

/** One figure of a comparison: what was expected, what is, and whether that passes. */
export interface Movement {
  readonly what: string;
  readonly expectedDb: number;
  readonly measuredDb: number;
  readonly passes: boolean;
}

/** Compares a measured tone with the expected one, order by order and in level. `measuredDb(order)` is relative to the fundamental. */
export function compareHarmonics(expected: ExpectedHarmonics, measuredFundamentalDbu: number, measuredDb: (order: number) => number): Movement[] {
  const within = (a: number, b: number) => Math.abs(a - b) <= expected.toleranceDb;
  return [
    { what: 'level', expectedDb: expected.fundamentalDbu, measuredDb: measuredFundamentalDbu, passes: within(expected.fundamentalDbu, measuredFundamentalDbu) },
    ...expected.orders.map(({ order, db }) => {
      const measured = measuredDb(order);
      const bothUnderFloor = db < expected.floorDb && measured < expected.floorDb;
      return { what: `H${order}`, expectedDb: db, measuredDb: measured, passes: bothUnderFloor || within(db, measured) };
    }),
  ];
}
