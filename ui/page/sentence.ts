/** What went wrong, in its own words. */
export function sentenceOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
