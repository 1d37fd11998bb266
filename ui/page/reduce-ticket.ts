/** Notes with what they pin, and tickets: taken, gone back to, opened, answered. Pure. */
import { answerTicket, maximumTextLength, mostEntries, parseTicket, SettingError, writeSetting } from '../../dsp/setting/index.ts';
import type { Setting, SettingNote, Ticket, TicketEntry, Verdict } from '../../dsp/setting/index.ts';
import { withLive, withMadePath, withMessage } from './changes.ts';
import { pinOf } from './pins.ts';
import { shortened } from './sentence.ts';
import type { Action, BenchState } from './state.ts';

const longestWords = 10_000;

/** @param today ISO date of a note or an answer */
export function reduceTicket(state: BenchState, action: Action, today: string): BenchState {
  const { notes } = state.setting;
  const open = state.live.ticket;
  switch (action.kind) {
    case 'note':
      return withNote(state, action.text, action.verdict ?? null, today);
    case 'drop-note':
      return notes[action.index] ? { ...state, setting: { ...state.setting, notes: notes.filter((_, index) => index !== action.index) } } : state;
    case 'back-to-note': {
      const note = notes[action.index];
      return note?.pin ? withMessage(withMadePath(state, note.pin.made.setting), `Back to the note of ${note.date}`) : state;
    }
    case 'open-ticket':
      return openTicket(state, action.text, action.fileName);
    case 'ticket-entry': {
      const entry = open?.ticket.entries[action.index];
      return open && entry ? withMessage(withMadePath(withLive(state, { ticket: { ...open, entry: action.index } }), entry.made.setting), `On the bench: the setting of ${entryName(open.ticket, action.index)}`) : state;
    }
    case 'answer-ticket':
      return open ? answer(state, open.ticket, action.words, action.verdict, today) : state;
    case 'close-ticket':
      return withLive(state, { ticket: null });
    case 'ticket-restored':
      return open ? state : restored(state, action.stored);
    case 'ticket-sound':
      return open ? withLive(state, { ticket: { ...open, sound: action.sound } }) : state;
    default:
      return state;
  }
}

function withNote(state: BenchState, given: string, verdict: Verdict | null, today: string): BenchState {
  const text = given.trim().slice(0, longestWords);
  if (text === '' && verdict === null) return state;
  const note: SettingNote = { date: today, text, ...(verdict === null ? {} : { verdict }), pin: pinOf(state) };
  const setting = { ...state.setting, notes: [...state.setting.notes, note] };
  // What is written must be read again.
  if (writeSetting(setting).length > maximumTextLength) return withMessage(state, 'This setting holds as many notes as a file may: freeze it, then drop some.', true);
  return { ...state, setting };
}

/** The whole setting of its newest entry, in the place of the one on the bench: one step of the history. */
function openTicket(state: BenchState, text: string, fileName: string): BenchState {
  let ticket: Ticket;
  try {
    ticket = parseTicket(text);
  } catch (error) {
    if (!(error instanceof SettingError)) throw error;
    return withMessage(state, `${shortened(fileName)} was not opened. ${shortened(error.message, 300)}`, true);
  }
  const entry = ticket.entries.length - 1;
  const made = ticket.entries[entry]!.made.setting;
  const changed = withMadePath(state, made);
  const setting: Setting = { ...changed.setting, title: made.title, notes: [], levelMatch: made.levelMatch };
  const opened = withLive({ ...changed, setting }, { ticket: { ticket, fileName, entry, sound: { kind: 'looking' } }, trialIn: true, shelf: null });
  return withMessage(opened, `Ticket: ${shortened(ticket.title)}. Its words stand above the drawing.`);
}

/** What cannot be read is as good as closed: the file is there still. */
function restored(state: BenchState, stored: unknown): BenchState {
  const { text, fileName, entry } = (typeof stored === 'object' && stored !== null ? stored : {}) as Readonly<Record<string, unknown>>;
  if (typeof text !== 'string' || typeof fileName !== 'string') return state;
  try {
    const ticket = parseTicket(text);
    return typeof entry === 'number' && ticket.entries[entry] ? withLive(state, { ticket: { ticket, fileName, entry, sound: { kind: 'looking' } } }) : state;
  } catch (error) {
    if (!(error instanceof SettingError)) throw error;
    return state;
  }
}

function answer(state: BenchState, ticket: Ticket, given: string, verdict: Verdict | null, today: string): BenchState {
  const words = given.trim().slice(0, longestWords);
  if (words === '' && verdict === null) return withMessage(state, 'An answer needs words or a verdict.', true);
  if (ticket.entries.length >= mostEntries) return withMessage(state, `A ticket holds ${mostEntries} entries at most: begin a new one from a note.`, true);
  const { measurement, made } = pinOf(state);
  const answered = answerTicket(ticket, { date: today, words, verdict, measurement, made });
  const open = { ...state.live.ticket!, ticket: answered, entry: answered.entries.length - 1 };
  return withMessage(withLive(state, { ticket: open }), 'Answered: the file holds both, hand it back.');
}

/** The first entry of a ticket that is made of a note; null where nothing was pinned. */
export function ticketOfNote(title: string, { date, text, verdict, pin }: SettingNote, excerptWav: Uint8Array | null): Ticket | null {
  if (!pin) return null;
  const { programme, region, measurement, made } = pin;
  const first: TicketEntry = { date, words: text, verdict: verdict ?? null, measurement, made };
  return { title, programme, region, excerptWav, entries: [first] };
}

/** "the first note", "answer 2 of 2026-11-26" */
export function entryName({ entries }: Ticket, index: number): string {
  return index === 0 ? 'the note itself' : `answer ${index} of ${entries[index]!.date}`;
}
