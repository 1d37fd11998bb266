/** A ticket: one moment of a piece of music, with the setting it was heard through, what was said of it, and every answer. A file that goes to and fro. */
import { encodeWholeWav } from '../recording/index.ts';
import { sha256 } from '../math/index.ts';
import { writeBase64 } from './base64.ts';
import type { FrozenSetting, HeardProgramme, Measurement, Region, Verdict } from './contract.ts';
import { frozenContent, measurementContent, programmeContent, regionContent } from './heard.ts';
import { checksumOf } from './text-checksum.ts';

export const ticketFormat = 'stagebench/ticket';
/** Recordings have owners, and files have readers: an excerpt is no longer than this. */
export const longestExcerptSeconds = 30;
/** Half a minute of two channels at 96 kHz has 17.3 MB in 24 bits. */
export const largestExcerptBytes = 18_000_000;
export const mostEntries = 100;

/** What one of the two said, and the setting it was said of. */
export interface TicketEntry {
  /** ISO date. */
  readonly date: string;
  readonly words: string;
  readonly verdict: Verdict | null;
  readonly measurement: Measurement | null;
  readonly made: FrozenSetting;
}

export interface Ticket {
  readonly title: string;
  readonly programme: HeardProgramme | null;
  /** Null: the whole loop. */
  readonly region: Region | null;
  /** The region as a WAV file, for whoever does not have the recording; null: not taken along. */
  readonly excerptWav: Uint8Array | null;
  /** The oldest first; at least one. */
  readonly entries: readonly TicketEntry[];
}

/** The file: JSON in a fixed order of fields; its checksum is of all but the excerpt's samples, which have one of their own. */
export function writeTicket(ticket: Ticket): string {
  const { excerptWav } = ticket;
  const excerpt = excerptWav && { sha256: sha256(excerptWav), bytes: excerptWav.length };
  const content = ticketContent(ticket, excerpt);
  return `${JSON.stringify({ ...content, excerpt: excerpt && { ...excerpt, wavBase64: writeBase64(excerptWav!) }, checksum: checksumOf(content) }, null, 2)}\n`;
}

/** The fields before the checksum, the excerpt by its checksum alone. */
function ticketContent({ title, programme, region, entries }: Ticket, excerpt: object | null): object {
  return {
    format: ticketFormat,
    version: 1,
    title,
    programme: programmeContent(programme),
    region: regionContent(region),
    entries: entries.map(({ date, words, verdict, measurement, made }) => ({ date, words, verdict, measurement: measurementContent(measurement), ...frozenContent(made) })),
    excerpt,
  };
}

/** The next entry; the exchange stays what it is. */
export function answerTicket(ticket: Ticket, entry: TicketEntry): Ticket {
  return { ...ticket, entries: [...ticket.entries, entry] };
}

/** Bytes of the excerpt's file, known before it is made. */
export function excerptBytes(channelCount: number, frames: number): number {
  return wavHeaderBytes + 3 * channelCount * frames;
}

const wavHeaderBytes = 44;

/**
 * What was heard as a WAV file of 24 bits: exact for material of 16 or 24 bits, to half a step of 24 bits for any other.
 * @throws RecordingError where the rate is none a file can have
 */
export function excerptFile(channels: readonly Float64Array[], rateHz: number): Uint8Array {
  return encodeWholeWav({ encoding: 'pcm24', channelCount: channels.length === 2 ? 2 : 1, rateHz }, channels, { clippedSamples: 0, notNumberSamples: 0 });
}
