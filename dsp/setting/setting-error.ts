/** A setting that cannot be used; the message is one sentence: where, what was expected, what was there. */
export class SettingError extends Error {
  override readonly name = 'SettingError';
}

/** `path[1].values.loadOhms: expected …, got …` */
export function refuseField(where: string, expected: string, got: unknown): never {
  throw new SettingError(`${where}: expected ${expected}, got ${describe(got)}`);
}

/** A value as an error may show it: short, quoted where it is text. */
export function describe(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (Array.isArray(value)) return 'a list';
  if (typeof value === 'object' && value !== null) return 'an object';
  return typeof value === 'string' ? quoted(value) : String(value);
}

/** A stranger's text as an error may show it: at most 60 characters, nothing in it that a terminal obeys. */
export function quoted(text: string): string {
  const shown = JSON.stringify(text.slice(0, 60)).replace(/[\u007f-\u009f]/g, (control) => `\\u${control.charCodeAt(0).toString(16).padStart(4, '0')}`);
  return shown.length > 60 ? `${shown.slice(0, 57)}…` : shown;
}
