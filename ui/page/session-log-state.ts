/** What was done in the session, in words and data. Types only. */

export type LogKind =
  /** The page was opened: a visit begins. */
  | 'opened'
  /** One gesture on the setting. */
  | 'changed'
  /** Another setting as a whole: thawed, taken up, gone back to. */
  | 'setting'
  | 'frozen' | 'heard' | 'region' | 'switched' | 'trial' | 'note' | 'ticket' | 'blind' | 'sitting' | 'hearing' | 'rendered';

export interface LogEntry {
  /** Where the listener is: "2026-11-26 20:15:07". */
  readonly at: string;
  readonly kind: LogKind;
  readonly words: string;
  readonly data: Readonly<Record<string, string | number | boolean | null>>;
}

export type SessionLogAction =
  | { readonly kind: 'logged'; readonly entry: LogEntry }
  /** What earlier visits left. */
  | { readonly kind: 'log-restored'; readonly entries: readonly LogEntry[] }
  | { readonly kind: 'save-session-log'; readonly as: 'json' | 'text' };
