/** A setting that cannot be used; the message is one sentence: where, what was expected, what was there. */
export class SettingError extends Error {
  override readonly name = 'SettingError';
}

/** `path[1].values.loadOhms: expected …, got …` */
export function refuseField(where: string, expected: string, got: unknown): never {
  throw new SettingError(`${where}: expected ${expected}, got ${describe(got)}`);
}

/** A value as an error may show it: short, quoted where it is text. */
function describe(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (Array.isArray(value)) return 'a list';
  if (typeof value === 'object' && value !== null) return 'an object';
  const text = typeof value === 'string' ? JSON.stringify(value) : String(value);
  return text.length > 60 ? `${text.slice(0, 57)}…` : text;
}
