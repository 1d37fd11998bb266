/** Markup as text, written so that nothing that is put into it can become markup by itself. Pure. */

/** Text that is markup already. Made by `markup` and by `trusted` alone. */
export class Markup {
  readonly text: string;

  constructor(text: string) {
    this.text = text;
  }
}

export type MarkupPart = Markup | string | number | null | readonly MarkupPart[];

/** Words and attribute values: the five characters that mean something, and none that XML 1.0 does not allow. */
export function escapeMarkup(text: string): string {
  return text.replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/g, '').replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;').replaceAll("'", '&#39;');
}

/** A template whose parts are escaped unless they are markup; lists are joined, null is nothing. Attribute values stand in double quotes. */
export function markup(pieces: TemplateStringsArray, ...parts: readonly MarkupPart[]): Markup {
  return new Markup(pieces.map((piece, index) => (index === 0 ? piece : `${written(parts[index - 1]!)}${piece}`)).join(''));
}

/** What is known to be markup: a picture of our own, a script of our own. */
export function trusted(text: string): Markup {
  return new Markup(text);
}

function written(part: MarkupPart): string {
  if (part === null) return '';
  if (part instanceof Markup) return part.text;
  if (typeof part === 'string' || typeof part === 'number') return escapeMarkup(String(part));
  return part.map(written).join('');
}

/** JSON for an element that holds data: nothing in it can end the element. */
export function dataMarkup(value: unknown): Markup {
  return new Markup(JSON.stringify(value).replaceAll('<', '\\u003c').replaceAll('\u2028', '\\u2028').replaceAll('\u2029', '\\u2029'));
}
