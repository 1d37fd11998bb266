/** Whether what a note was taken of can go along with its ticket, and how large it is. Pure. */
import { excerptBytes, largestExcerptBytes, longestExcerptSeconds } from '../../dsp/setting/index.ts';
import type { NotePin } from '../../dsp/setting/index.ts';
import type { BenchState } from './state.ts';

export type ExcerptOffer = { readonly kind: 'size'; readonly bytes: number } | { readonly kind: 'refused'; readonly why: string };

/** Null: everybody has it, since it comes with the bench, or there is nothing to take. */
export function excerptOffer({ session, live: { programme } }: BenchState, pin: NotePin): ExcerptOffer | null {
  if (pin.programme === null || !pin.programme.identifier.startsWith('file:')) return null;
  if (programme === null || session.loop !== pin.programme.identifier || programme.trimDb !== pin.programme.trimDb) return { kind: 'refused', why: 'go back to the note first: its file must be on the bench' };
  const { startSeconds, endSeconds } = pin.region ?? { startSeconds: 0, endSeconds: programme.frames / programme.rateHz };
  if (endSeconds - startSeconds > longestExcerptSeconds) return { kind: 'refused', why: `${longestExcerptSeconds} s at most, and this region has ${(endSeconds - startSeconds).toFixed(1)} s` };
  const bytes = excerptBytes(programme.channels, Math.round((endSeconds - startSeconds) * programme.rateHz));
  return bytes > largestExcerptBytes ? { kind: 'refused', why: `${largestExcerptBytes / 1e6} MB at most, and this region has ${(bytes / 1e6).toFixed(1)} MB` } : { kind: 'size', bytes };
}

/** What its text has in the ticket's file: "1.2 MB". */
export function excerptWords(bytes: number): string {
  const written = (4 * bytes) / 3;
  return written < 1e6 ? `${Math.ceil(written / 1e3)} kB` : `${(written / 1e6).toFixed(1)} MB`;
}
