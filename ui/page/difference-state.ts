/** Hearing only what the thing on trial adds: what is known of it and what the listener asks for. Types only. */

export interface DifferenceLevels {
  /** R.m.s. of what is added re what is heard with the thing on trial in. */
  readonly belowDb: number;
  /** By which the bench raises it of itself: 6 dB or more under the loudness of the programme. */
  readonly chosenDb: number;
  /** As loud as the programme, or up to full scale. */
  readonly mostDb: number;
}

export type DifferencePhase =
  /** Not measured since something else was put on trial or another region chosen: the path is heard. */
  | { readonly kind: 'none' }
  /** Of before a change; measured again in a moment if it is wanted. */
  | { readonly kind: 'stale' }
  /** Share done. */
  | { readonly kind: 'measuring'; readonly done: number }
  | { readonly kind: 'ready' }
  /** What is left is no more than the method leaves of a linear path. */
  | { readonly kind: 'nothing' }
  | { readonly kind: 'refused'; readonly why: string };

export interface DifferenceState {
  /** The listener wants it in place of the path. */
  readonly heard: boolean;
  /** Steps of the listener's own, on what the bench chose. */
  readonly byHandDb: number;
  readonly phase: DifferencePhase;
  /** Of what the audio thread has; null: it has none. */
  readonly levels: DifferenceLevels | null;
}

export type DifferenceAction =
  | { readonly kind: 'hear-difference'; readonly heard: boolean }
  | { readonly kind: 'raise-difference'; readonly stepDb: number }
  /** Answers of the engine. `keep`: what there was may still be heard. */
  | { readonly kind: 'difference-stale'; readonly keep: boolean }
  | { readonly kind: 'difference-measuring'; readonly done: number }
  | { readonly kind: 'difference-found'; readonly levels: DifferenceLevels | null }
  | { readonly kind: 'difference-refused'; readonly why: string };
