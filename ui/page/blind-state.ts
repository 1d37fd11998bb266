/** The blind comparison as the page sees it: a plan, tokens, a count; nothing of what stands for what before it has ended. Types only. */
import type { BlindAnswer, BlindPlan, BlindProgress, BlindToken } from '../../dsp/listening/index.ts';
import type { BlindRecord } from '../../worklets/workers/blind.ts';

export type BlindState =
  | { readonly kind: 'setup'; readonly plan: BlindPlan; readonly refusal: string | null }
  | {
      readonly kind: 'running'; readonly plan: BlindPlan; readonly progress: BlindProgress;
      /** The box that was pressed last in this trial. */
      readonly token: BlindToken | null;
      /** Of the training trial before: what X was. */
      readonly truth: 'A' | 'B' | null;
      /** Leaving was asked for and is to be confirmed. */
      readonly leaving: boolean;
    }
  | { readonly kind: 'ended'; readonly record: BlindRecord };

export type BlindAction =
  | { readonly kind: 'blind-setup'; readonly seed: number }
  | { readonly kind: 'blind-plan'; readonly plan: BlindPlan }
  | { readonly kind: 'blind-begin' }
  | { readonly kind: 'blind-hear'; readonly token: BlindToken }
  | { readonly kind: 'blind-answer'; readonly answer: BlindAnswer }
  /** Asks; `blind-stop` confirms, `blind-stay` goes on. */
  | { readonly kind: 'blind-leave' } | { readonly kind: 'blind-stop' } | { readonly kind: 'blind-stay' }
  /** The excerpt from its start. */
  | { readonly kind: 'blind-rewind' }
  | { readonly kind: 'blind-save' }
  | { readonly kind: 'blind-close' }
  // answers of the engine
  | { readonly kind: 'blind-told'; readonly progress: BlindProgress; readonly truth: 'A' | 'B' | null }
  | { readonly kind: 'blind-record'; readonly record: BlindRecord };
