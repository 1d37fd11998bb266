/** A demonstration page in the making. Types only. */

export interface DemonstrationState {
  /** Share done, 0–1; null: none is being made. */
  readonly done: number | null;
  /** Made of the path on request, to be edited; null: not asked for. */
  readonly words: string | null;
}

export type DemonstrationAction =
  /** `words` null: made of the path. */
  | { readonly kind: 'demonstrate'; readonly title: string; readonly words: string | null; readonly blindTrials: number | null }
  | { readonly kind: 'stop-demonstration' }
  | { readonly kind: 'suggest-words' }
  // answers of the engine
  | { readonly kind: 'demonstration-done'; readonly done: number | null }
  | { readonly kind: 'words-suggested'; readonly words: string };
