/** The session's log as files, and as it lies in the store. */
import type { LogEntry, LogKind } from './session-log-state.ts';
import { mostEntries } from './session-log.ts';

export const sessionLogFormat = 'stagebench/session-log';

export function writeSessionLog(entries: readonly LogEntry[]): string {
  return `${JSON.stringify({ format: sessionLogFormat, version: 1, entries: entries.map(({ at, kind, words, data }) => ({ at, kind, words, data })) }, null, 2)}\n`;
}

/** One line an entry, each day under its date. */
export function sessionLogText(entries: readonly LogEntry[]): string {
  const lines = entries.flatMap(({ at, words }, index) => {
    const [day, time] = [at.slice(0, 10), at.slice(11)];
    const line = `${time}  ${words.replace(/\s+/g, ' ')}`;
    return entries[index - 1]?.at.slice(0, 10) === day ? [line] : [...(index === 0 ? [] : ['']), day, line];
  });
  return `${lines.join('\n')}\n`;
}

const kinds: readonly LogKind[] = ['opened', 'changed', 'setting', 'frozen', 'heard', 'region', 'switched', 'trial', 'note', 'ticket', 'blind', 'sitting', 'hearing', 'rendered'];

/** Entries of what was stored; what is none is left out. */
export function readStoredLog(stored: unknown): readonly LogEntry[] {
  return Array.isArray(stored) ? stored.filter(isEntry).slice(-mostEntries) : [];
}

function isEntry(entry: unknown): entry is LogEntry {
  if (typeof entry !== 'object' || entry === null) return false;
  const { at, kind, words, data } = entry as Record<string, unknown>;
  return typeof at === 'string' && /^\d{4}-\d{2}-\d{2} \d{2}:\d{2}:\d{2}$/.test(at) && kinds.some((known) => known === kind) && typeof words === 'string'
    && typeof data === 'object' && data !== null && Object.values(data).every((value) => value === null || ['string', 'number', 'boolean'].includes(typeof value));
}
