/** Text → ticket. A stranger wrote it: trusts nothing, and what it returns can be used without further checks. */
import { frameBytes, parseWavHeader, RecordingError } from '../recording/index.ts';
import { sha256 } from '../math/index.ts';
import { parseBase64 } from './base64.ts';
import { join, readList, readNumber, readOneOf, readRecord, readText } from './fields.ts';
import type { UnknownRecord } from './fields.ts';
import { readDate, readFrozen, readMeasurement, readProgramme, readRegion, readSha256, readVerdict } from './heard.ts';
import { parseSetting } from './parse.ts';
import { refuseField, SettingError } from './setting-error.ts';
import { checksumOf, shownChecksum } from './text-checksum.ts';
import { largestExcerptBytes, longestExcerptSeconds, mostEntries, ticketFormat } from './ticket.ts';
import type { Ticket, TicketEntry } from './ticket.ts';

/** Characters of a file: its excerpt in base 64, and a hundred entries beside. */
export const maximumTicketLength = 32_000_000;

export interface TicketFile {
  readonly ticket: Ticket;
  /** Of checksums in it that are not those of what they stand for; empty where all agree. */
  readonly disagreements: readonly string[];
}

/** @throws SettingError with one sentence, also where a checksum does not agree */
export function parseTicket(text: string): Ticket {
  const { ticket, disagreements } = parseTicketFile(text);
  const [first] = disagreements;
  if (first !== undefined) throw new SettingError(first);
  return ticket;
}

/** As `parseTicket`, and leaves it to the reader what to think of checksums that do not agree. @throws SettingError with one sentence */
export function parseTicketFile(text: string): TicketFile {
  if (text.length > maximumTicketLength) throw new SettingError(`file: expected at most ${maximumTicketLength} characters, got ${text.length}`);
  let parsed: unknown;
  try {
    parsed = JSON.parse(text);
  } catch {
    throw new SettingError('file: expected a ticket in JSON, got text that is not JSON');
  }
  const file = readRecord(parsed, '', ['format', 'version', 'title', 'programme', 'region', 'entries', 'excerpt', 'checksum']);
  readOneOf(file['format'], 'format', [ticketFormat]);
  readOneOf(file['version'], 'version', [1]);
  const disagreements: string[] = [];
  const programme = readProgramme(file['programme'], 'programme');
  const region = readRegion(file['region'], 'region');
  const entries = readList(file['entries'], 'entries', mostEntries).map((entry, index) => readEntry(entry, `entries[${index}]`, disagreements));
  if (entries.length === 0) throw new SettingError('entries: expected at least one, got none');
  const excerptWav = readExcerpt(file['excerpt'], programme?.rateHz ?? null, disagreements);
  const ticket: Ticket = { title: readText(file['title'], 'title', 200), programme, region, excerptWav, entries };
  const expected = checksumOf(checkedContent(file));
  if (file['checksum'] !== expected) disagreements.push(`checksum: expected ${expected}, got ${shownChecksum(file['checksum'])}: the ticket was changed after it was written`);
  return { ticket, disagreements };
}

/** What the file's checksum is of: everything before it, of the excerpt no more than what names it. */
function checkedContent({ checksum: _checksum, ...content }: UnknownRecord): object {
  const excerpt = content['excerpt'] as UnknownRecord | null;
  return { ...content, excerpt: excerpt && { sha256: excerpt['sha256'], bytes: excerpt['bytes'] } };
}

function readEntry(entry: unknown, where: string, disagreements: string[]): TicketEntry {
  const record = readRecord(entry, where, ['date', 'words', 'verdict', 'measurement', 'settingSha256', 'setting']);
  const { frozen, disagreement } = readFrozen(record['setting'], record['settingSha256'], where, parseSetting);
  if (disagreement !== null) disagreements.push(disagreement);
  return {
    date: readDate(record['date'], join(where, 'date')),
    words: readText(record['words'], join(where, 'words'), 10_000),
    verdict: record['verdict'] === null ? null : readVerdict(record['verdict'], join(where, 'verdict')),
    measurement: readMeasurement(record['measurement'], join(where, 'measurement')),
    made: frozen,
  };
}

function readExcerpt(value: unknown, rateHz: number | null, disagreements: string[]): Uint8Array | null {
  if (value === null) return null;
  const record = readRecord(value, 'excerpt', ['sha256', 'bytes', 'wavBase64']);
  const bytes = readNumber(record['bytes'], 'excerpt.bytes', 0, largestExcerptBytes);
  const wav = parseBase64(readText(record['wavBase64'], 'excerpt.wavBase64', Math.ceil((4 * largestExcerptBytes) / 3)), 'excerpt.wavBase64');
  const stated = readSha256(record['sha256'], 'excerpt.sha256');
  const found = sha256(wav);
  if (found !== stated) disagreements.push(`excerpt.sha256: expected ${found}, got ${stated}: the excerpt was changed after it was written`);
  if (bytes !== wav.length) disagreements.push(`excerpt.bytes: expected ${wav.length}, got ${bytes}`);
  refuseExcerpt(wav, rateHz);
  return wav;
}

/** A WAV file at the rate of what was heard, and no longer than an excerpt may be. */
function refuseExcerpt(wav: Uint8Array, rateHz: number | null): void {
  let header;
  try {
    header = parseWavHeader(wav);
  } catch (error) {
    if (!(error instanceof RecordingError)) throw error;
    throw new SettingError(`excerpt: ${error.message}`);
  }
  if (header.kind !== 'format') throw new SettingError('excerpt: expected a WAV file, got the beginning of one');
  const { format } = header;
  if (format.rateHz !== rateHz) refuseField('excerpt', `samples at ${rateHz ?? 'no'} Hz, as was heard`, format.rateHz);
  if (format.frameCount === null || format.frameCount === 0) throw new SettingError('excerpt: expected a WAV file of known length, got one without');
  if (format.frameCount > longestExcerptSeconds * format.rateHz) throw new SettingError(`excerpt: expected at most ${longestExcerptSeconds} s, got ${(format.frameCount / format.rateHz).toFixed(1)} s`);
  const heldFrames = Math.floor((wav.length - format.dataOffsetBytes) / frameBytes(format));
  if (heldFrames < format.frameCount) throw new SettingError(`excerpt: expected ${format.frameCount} frames, as its header says, the file ends after ${heldFrames}`);
}
