/** Long listenings as the page sees them: plans, what was written down after each sitting, the sitting under way; nothing of which side it is before the end. Types only. */
import type { LongPlan, SittingLog } from '../../dsp/listening/index.ts';
import type { OnTrial } from '../../dsp/path/index.ts';
import type { LongListening, Region, Setting } from '../../dsp/setting/index.ts';
import type { Drafts, Pair } from './drafts-state.ts';

export interface KeptListening {
  /** Its key in the store. */
  readonly id: string;
  readonly listening: LongListening;
}

/** What lay on the bench before a sitting, to be put back as it was. */
export interface SetAside {
  readonly setting: Setting;
  readonly session: {
    readonly onTrial: OnTrial; readonly pair: Pair | null; readonly drafts: Drafts;
    readonly loop: string; readonly region: Region | null; readonly openStageKey: string;
  };
  readonly trialIn: boolean;
}

export interface Sitting {
  /** Of the listening. */
  readonly id: string;
  /** Nothing was heard yet; it plays or pauses; it is over and to be written down. */
  readonly phase: 'ready' | 'hearing' | 'log';
  /** Local ISO date and time to the minute; null: not yet. */
  readonly began: string | null;
  readonly heardSeconds: number;
  readonly toTheEnd: boolean;
  /** Leaving without a word was asked for and is to be confirmed. */
  readonly leaving: boolean;
  readonly concealment: Concealment;
  readonly aside: SetAside;
}

/** The blind worker's choice of what sounds: nothing may be heard before it stands, for it would be known. */
export type Concealment = { readonly kind: 'asked' } | { readonly kind: 'stands' } | { readonly kind: 'failed'; readonly why: string };

export interface LongState {
  /** The newest first. */
  readonly listenings: readonly KeptListening[];
  /** The next plan, as it is being chosen. */
  readonly choice: Pick<LongPlan, 'pairs' | 'question' | 'significance'>;
  /** The one whose end was asked for and is to be confirmed. */
  readonly ending: string | null;
  readonly sitting: Sitting | null;
}

/** What the listener chooses and writes. */
export type WrittenLog = Pick<SittingLog, 'ease' | 'fatigue' | 'believed' | 'noIdea' | 'words'>;

export type SittingAction =
  | { readonly kind: 'long-choice'; readonly choice: LongState['choice'] }
  /** `seed`: the page's chance; `date`: ISO. */
  | { readonly kind: 'long-plan'; readonly id: string; readonly seed: number; readonly date: string }
  /** Asks; `long-end` confirms and reveals, `long-go-on` goes on. */
  | { readonly kind: 'long-ask-end'; readonly id: string } | { readonly kind: 'long-go-on' }
  | { readonly kind: 'long-end'; readonly id: string; readonly date: string }
  | { readonly kind: 'long-remove'; readonly id: string }
  | { readonly kind: 'long-save'; readonly id: string }
  | { readonly kind: 'long-take'; readonly id: string; readonly listening: LongListening }
  /** The bench is put aside, and what the plan was made of takes its place. */
  | { readonly kind: 'sitting-open'; readonly id: string }
  /** `now`: local ISO date and time to the minute. */
  | { readonly kind: 'sitting-play'; readonly now: string }
  /** The listener has heard enough; `sitting-back` goes on hearing. */
  | { readonly kind: 'sitting-finish' } | { readonly kind: 'sitting-back' }
  | { readonly kind: 'sitting-log'; readonly log: WrittenLog; readonly date: string }
  /** Asks where something was heard; `sitting-stay` goes on. */
  | { readonly kind: 'sitting-leave' } | { readonly kind: 'sitting-stay' } | { readonly kind: 'sitting-drop' }
  // answers of the engine
  | { readonly kind: 'long-listed'; readonly listenings: readonly KeptListening[] }
  | { readonly kind: 'sitting-concealed'; readonly concealment: Concealment }
  /** The programme has come to its end. */
  | { readonly kind: 'sitting-over' }
  | { readonly kind: 'sitting-heard'; readonly seconds: number };
