/** What an action did, as a line of the session's log: one a gesture, with the data behind the words. Pure. */
import { changeLine, lineWords, pathChanges, settingSha256 } from '../../dsp/setting/index.ts';
import type { PathSetting } from '../../dsp/path/index.ts';
import { freezeFileName } from './freeze.ts';
import { passedWords } from './hearing-words.ts';
import { momentWords, programmeOf } from './pins.ts';
import { trialName } from './tell.ts';
import type { LogEntry } from './session-log-state.ts';
import type { Action, BenchState } from './state.ts';

/** So many lines are kept, over all visits. */
export const mostEntries = 2000;
/** Steps of one value no further apart than this are one gesture. */
const mergeSeconds = 10;

/** A line without its time. */
export type Line = Omit<LogEntry, 'at'>;

/** The path as it was when the gesture under way began; null: none is. */
export type GestureStart = PathSetting | null;

export interface Noticed {
  readonly lines: readonly Line[];
  readonly gesture: GestureStart;
}

/** While something is compared or listened to without knowing what, nothing is written that would tell. */
function isConcealed({ live }: BenchState): boolean {
  return live.blind?.kind === 'running' || live.long.sitting !== null;
}

/** What is to be written of an action, given where the gesture under way began. */
export function notice(before: BenchState, after: BenchState, action: Action, gesture: GestureStart): Noticed {
  if (isConcealed(before) || isConcealed(after)) return { lines: concealedLines(before, after, action), gesture: null };
  if (action.kind === 'set-value' && action.phase === 'cancel') return { lines: [], gesture: null };
  if (action.kind === 'set-value' && (action.phase === 'begin' || action.phase === 'move')) return { lines: [], gesture: gesture ?? before.setting.path };
  const from = action.kind === 'set-value' && action.phase === 'end' ? gesture ?? before.setting.path : before.setting.path;
  const settled = action.kind === 'set-value' || before.setting.path !== after.setting.path;
  return { lines: [...settingLines(before, after, action, from), ...otherLines(before, after, action)], gesture: settled ? null : gesture };
}

/** That it took place, and how it ended. */
function concealedLines(before: BenchState, after: BenchState, action: Action): Line[] {
  switch (action.kind) {
    case 'blind-begin': {
      const { blind } = after.live;
      return blind?.kind === 'running' && before.live.blind?.kind !== 'running' ? [{ kind: 'blind', words: `blind comparison begun: ${blind.plan.task === 'identify' ? 'is X A or B' : 'which is preferred'}, on trial ${trialName(after)}`, data: { task: blind.plan.task, seed: blind.plan.seed } }] : [];
    }
    case 'blind-record': {
      const { result, stopped } = action.record;
      return [{ kind: 'blind', words: `blind comparison ended: ${result.words[0] ?? 'no result'}`, data: { task: result.task, trials: result.trials, p: result.p, stopped, settingSha256: settingSha256(after.setting) } }];
    }
    case 'blind-failed':
      return before.live.blind?.kind === 'running' ? [{ kind: 'blind', words: 'blind comparison broken off: its worker stopped', data: {} }] : [];
    case 'sitting-open':
      return before.live.long.sitting === null ? [{ kind: 'sitting', words: 'a sitting of a long listening begun', data: { listening: action.id } }] : [];
    case 'sitting-log':
      return [{ kind: 'sitting', words: 'a sitting written down', data: { listening: before.live.long.sitting?.id ?? null, heardSeconds: Math.round(before.live.long.sitting?.heardSeconds ?? 0) } }];
    default:
      return [];
  }
}

/** The setting as a whole, or one gesture's changes to it. */
function settingLines(before: BenchState, after: BenchState, action: Action, from: PathSetting): Line[] {
  if (before.setting === after.setting && action.kind !== 'set-value') return [];
  const lines = pathChanges(from, after.setting.path).map(changeLine);
  const title = before.setting.title === after.setting.title ? [] : [{ what: 'name', was: before.setting.title, now: after.setting.title }];
  const whole = wholeWords(after, action);
  if (whole !== null) return [{ kind: 'setting', words: `${whole}${lines.length === 0 ? '' : ` (${lines.length} ${lines.length === 1 ? 'difference' : 'differences'})`}`, data: { ...fileOf(action), settingSha256: settingSha256(after.setting) } }];
  const prefix = action.kind === 'undo' ? 'undone, ' : action.kind === 'redo' ? 'redone, ' : '';
  return [...lines, ...title].map((line) => ({ kind: 'changed' as const, words: `${prefix}${lineWords(line)}`, data: { ...line } }));
}

/** Null: not the setting as a whole. */
function wholeWords({ setting, live }: BenchState, action: Action): string | null {
  switch (action.kind) {
    case 'thaw': return `thawed ${setting.title}`;
    case 'ready-path': return `on the bench: ${setting.title}`;
    case 'restore-kept': return 'the setting of a kept figure restored';
    case 'take-up': return `draft ${action.draft} taken up: ${setting.title}`;
    case 'back-to-note': return `back to the note of ${setting.notes[action.index]?.date ?? ''}`;
    case 'open-ticket': return `ticket opened: ${live.ticket?.ticket.title ?? ''}`;
    case 'ticket-entry': return `the setting of entry ${action.index + 1} of the ticket`;
    default: return null;
  }
}

function fileOf(action: Action): Line['data'] {
  return action.kind === 'thaw' || action.kind === 'open-ticket' ? { file: action.fileName.slice(0, 200) } : {};
}

function otherLines(before: BenchState, after: BenchState, action: Action): Line[] {
  const { setting, session, live } = after;
  switch (action.kind) {
    case 'freeze':
      return [{ kind: 'frozen', words: `frozen as ${freezeFileName(setting.title)}`, data: { file: freezeFileName(setting.title), settingSha256: settingSha256(setting) } }];
    case 'lay-down':
      return [{ kind: 'frozen', words: `laid down as draft ${action.draft}: ${setting.title}`, data: { draft: action.draft, settingSha256: settingSha256(setting) } }];
    case 'programme': {
      const heard = programmeOf(after)!;
      const earlier = programmeOf(before);
      return earlier?.identifier === heard.identifier && earlier.trimDb === heard.trimDb ? []
        : [{ kind: 'heard', words: `on the bench to be heard: ${heard.title}, ${heard.rateHz / 1000} kHz${heard.trimDb === 0 ? '' : `, turned down by ${-heard.trimDb} dB`}`, data: { identifier: heard.identifier, sha256: heard.sha256, rateHz: heard.rateHz, trimDb: heard.trimDb } }];
    }
    case 'region':
      return before.session.region === session.region ? [] : [{ kind: 'region', words: `region: ${momentWords(programmeOf(after), session.region)}`, data: { startSeconds: session.region?.startSeconds ?? null, endSeconds: session.region?.endSeconds ?? null } }];
    case 'switch':
      return before.live.trialIn === live.trialIn ? [] : [{ kind: 'switched', words: 'switched once', data: { count: 1 } }];
    case 'on-trial': case 'pair-on-trial':
      return before.session.onTrial === session.onTrial && before.session.pair === session.pair ? [] : [{ kind: 'trial', words: `on trial: ${trialName(after)}`, data: {} }];
    case 'note': {
      const note = setting.notes.at(-1);
      return !note || setting.notes === before.setting.notes ? [] : [{ kind: 'note', words: `note${note.verdict === undefined ? '' : `, ${note.verdict}`}: ${note.text}`, data: { verdict: note.verdict ?? null, settingSha256: note.pin?.made.sha256 ?? null } }];
    }
    case 'send-note':
      return setting.notes[action.index]?.pin ? [{ kind: 'ticket', words: `ticket handed over of the note of ${setting.notes[action.index]!.date}`, data: { withExcerpt: action.withExcerpt, settingSha256: setting.notes[action.index]!.pin!.made.sha256 } }] : [];
    case 'answer-ticket': {
      const entry = live.ticket?.ticket.entries.at(-1);
      return !entry || live.ticket === before.live.ticket ? [] : [{ kind: 'ticket', words: `ticket answered${entry.verdict === null ? '' : `, ${entry.verdict}`}: ${entry.words}`, data: { verdict: entry.verdict, settingSha256: entry.made.sha256 } }];
    }
    case 'message':
      // Said by the engine once the file is there.
      return before.live.rendering !== null && action.text.startsWith('Rendered as ') ? [{ kind: 'rendered', words: action.text.replace('Rendered', 'rendered'), data: { settingSha256: settingSha256(setting) } }] : [];
    case 'calibrate-playback': {
      const { calibration } = live.hearing;
      return !calibration || calibration === before.live.hearing.calibration ? [] : [{ kind: 'hearing', words: `playback calibrated by a sound-level reading, ${calibration.equipment}`, data: { equipment: calibration.equipment } }];
    }
    case 'heard': {
      const words = before.live.hearing.passed.day === live.hearing.passed.day ? passedWords(before.live.hearing.passed, live.hearing.passed) : null;
      return words === null ? [] : [{ kind: 'hearing', words, data: {} }];
    }
    default:
      return [];
  }
}

/** The log with one more line; switches, regions and steps of one value that follow one another are one line. Bounded: the oldest give way. */
export function appendEntry(log: readonly LogEntry[], entry: LogEntry): readonly LogEntry[] {
  const last = log.at(-1);
  const merged = last ? merge(last, entry) : null;
  return merged ? [...log.slice(0, -1), merged] : [...log, entry].slice(-mostEntries);
}

function merge(last: LogEntry, entry: LogEntry): LogEntry | null {
  if (last.kind !== entry.kind) return null;
  if (entry.kind === 'switched') {
    const count = Number(last.data['count']) + 1;
    return { ...last, words: `switched ${count} times`, data: { count } };
  }
  if (entry.kind === 'region' && secondsBetween(last, entry) <= mergeSeconds) return entry;
  const { what, was, now } = entry.data;
  const sameValue = entry.kind === 'changed' && last.data['what'] === what && last.data['now'] === was && !isTravel(last) && !isTravel(entry);
  if (!sameValue || secondsBetween(last, entry) > mergeSeconds) return null;
  const line = { what: String(what), was: String(last.data['was']), now: String(now) };
  return { ...entry, words: lineWords(line), data: { ...line } };
}

/** Undone or redone: a gesture of its own. */
function isTravel({ words }: LogEntry): boolean {
  return /^(un|re)done, /.test(words);
}

function secondsBetween(a: LogEntry, b: LogEntry): number {
  return (Date.parse(b.at.replace(' ', 'T')) - Date.parse(a.at.replace(' ', 'T'))) / 1000;
}

/** Of the present visit: from when the page was opened. */
export function recentEntries(log: readonly LogEntry[]): readonly LogEntry[] {
  return log.slice(Math.max(0, log.findLastIndex(({ kind }) => kind === 'opened')));
}
