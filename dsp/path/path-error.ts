/** A path that cannot be built: the sentence names the stage by its place and title. */
export class PathError extends Error {
  override readonly name = 'PathError';
  /** Key of the stage at fault; empty when it is the path itself. */
  readonly stageKey: string;
  constructor(stageKey: string, sentence: string) {
    super(sentence);
    this.stageKey = stageKey;
  }
}

/** What is caught as a sentence. */
export function sentenceOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
