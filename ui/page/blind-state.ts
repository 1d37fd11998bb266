/** The blind comparison as the page sees it: a plan, tokens, a count; nothing of what stands for what before it has ended. Types only. */
import type { BlindAnswer, BlindPlan, BlindProgress, BlindToken, OneGain } from '../../dsp/listening/index.ts';
import type { Excerpt } from '../../dsp/setting/index.ts';
import type { BlindRecord } from '../../worklets/workers/blind.ts';

/** How near one gain brings the two sides in every excerpt. */
export type ExcerptMatch =
  /** There are no excerpts, or they are being measured. */
  | { readonly kind: 'none' } | { readonly kind: 'measuring' }
  | { readonly kind: 'cannot-match'; readonly why: string }
  | ({ readonly kind: 'matched' } & OneGain);

export type BlindState =
  | { readonly kind: 'setup'; readonly plan: BlindPlan; readonly refusal: string | null; readonly excerptMatch: ExcerptMatch }
  | {
      readonly kind: 'running'; readonly plan: BlindPlan; readonly progress: BlindProgress;
      /** The box that was pressed last in this trial. */
      readonly token: BlindToken | null;
      /** Of the training trial before: what X was. */
      readonly truth: 'A' | 'B' | null;
      /** Leaving was asked for and is to be confirmed. */
      readonly leaving: boolean;
      /** Which excerpt sounds, from 1, whatever the token. */
      readonly excerpt: number;
      readonly excerptMatch: ExcerptMatch;
    }
  | { readonly kind: 'ended'; readonly record: BlindRecord; readonly excerptMatch: ExcerptMatch };

export type BlindAction =
  | { readonly kind: 'blind-setup'; readonly seed: number }
  | { readonly kind: 'blind-plan'; readonly plan: BlindPlan }
  | { readonly kind: 'blind-begin' }
  | { readonly kind: 'blind-hear'; readonly token: BlindToken }
  | { readonly kind: 'blind-answer'; readonly answer: BlindAnswer }
  | { readonly kind: 'blind-failed' }
  /** Asks; `blind-stop` confirms, `blind-stay` goes on. */
  | { readonly kind: 'blind-leave' } | { readonly kind: 'blind-stop' } | { readonly kind: 'blind-stay' }
  /** The excerpt from its start. */
  | { readonly kind: 'blind-rewind' }
  /** Another excerpt, from 1, from its start. */
  | { readonly kind: 'blind-excerpt'; readonly excerpt: number }
  /** The region as it stands, to choose among while comparing blind. */
  | { readonly kind: 'add-excerpt' }
  | { readonly kind: 'remove-excerpt'; readonly index: number }
  | { readonly kind: 'name-excerpt'; readonly index: number; readonly name: string }
  | { readonly kind: 'blind-save' }
  | { readonly kind: 'blind-close' }
  // answers of the engine; `excerpts`: those that were measured
  | { readonly kind: 'excerpts-matched'; readonly excerpts: readonly Excerpt[]; readonly match: ExcerptMatch }
  | { readonly kind: 'blind-told'; readonly progress: BlindProgress; readonly truth: 'A' | 'B' | null }
  | { readonly kind: 'blind-record'; readonly record: BlindRecord };
