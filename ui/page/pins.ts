/** What a note pins of the bench as it stands, and how it reads. Pure. */
import { freezeSetting, lowestMeasuredDb, readyPaths } from '../../dsp/setting/index.ts';
import type { HeardProgramme, Measurement, NotePin, Region, Setting, SettingNote } from '../../dsp/setting/index.ts';
import type { BenchState } from './state.ts';

/** Null: nothing is loaded yet. */
export function programmeOf({ session, live: { programme } }: BenchState): HeardProgramme | null {
  return programme && { title: programme.title, identifier: session.loop, sha256: programme.sha256, rateHz: programme.rateHz, trimDb: programme.trimDb };
}

export function pinOf(state: BenchState): NotePin {
  const { setting, session, live } = state;
  return {
    programme: programmeOf(state),
    region: session.region && { startSeconds: session.region.startSeconds, endSeconds: session.region.endSeconds },
    measurement: measurementOf(state),
    // What was heard and measured went at the rate of the programme.
    made: freezeSetting({ ...setting, baseRateHz: live.baseRateHz }),
  };
}

/** What the ledger shows of the whole path; null where it shows something else, or not yet what belongs to the path as it is. */
export function measurementOf({ live: { harmonics, revision } }: BenchState): Measurement | null {
  if (!harmonics || harmonics.refusal !== null || harmonics.scope !== 'path' || harmonics.revision !== revision) return null;
  const { frequencyHz, levelDbu, fundamentalDbu, figures } = harmonics;
  return { frequencyHz, levelDbu, fundamentalDbu: toThousandths(fundamentalDbu), orders: figures.map(({ order, db }) => ({ order, db: toThousandths(Math.max(db, lowestMeasuredDb)) })) };
}

function toThousandths(db: number): number {
  return Math.round(1000 * db) / 1000 + 0;
}

/** "piano, decaying notes, 1.25 to 3.50 s" */
export function momentWords(programme: HeardProgramme | null, region: Region | null): string {
  if (programme === null) return 'nothing was loaded to be heard';
  return `${programme.title}, ${region ? `${region.startSeconds.toFixed(2)} to ${region.endSeconds.toFixed(2)} s` : 'the whole of it'}`;
}

/** What to listen for, where the setting carries the note of a ready path; null elsewhere. */
export function listenForOf({ notes }: Setting): string | null {
  return notes.find(isListenFor)?.text ?? null;
}

/** Such a note is the bench's own and shown elsewhere. */
export function isListenFor({ text }: SettingNote): boolean {
  return readyPaths.some(({ listenFor }) => listenFor === text);
}
