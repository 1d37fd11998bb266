/** A stranger's text as a terminal may show it: without control characters. */
export function plain(text: string): string {
  return text.replace(/\p{Cc}/gu, ' ');
}
