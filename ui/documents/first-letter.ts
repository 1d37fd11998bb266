/** A phrase at the beginning of a sentence, and a title within one ("class A" keeps its letter). */
export function capital(words: string): string {
  return words.charAt(0).toUpperCase() + words.slice(1);
}

export function uncapitalised(title: string): string {
  return title.charAt(0).toLowerCase() + title.slice(1);
}
