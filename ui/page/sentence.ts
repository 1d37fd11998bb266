/** A stranger's text, cut to what a line can show. */
export function shortened(text: string, most = 60): string {
  return text.length > most ? `${text.slice(0, most - 1)}…` : text;
}

/** What went wrong, in its own words. */
export function sentenceOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
