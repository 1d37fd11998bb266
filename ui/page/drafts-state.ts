/** The four drafts and the pair on trial: types and the order of their names. */
import type { Setting } from '../../dsp/setting/index.ts';

export const draftNames = ['I', 'II', 'III', 'IV'] as const;
export type DraftName = (typeof draftNames)[number];

/** A whole setting laid down: title, path, joints, rules, notes. */
export interface Draft {
  readonly setting: Setting;
  /** ISO date. */
  readonly laidDown: string;
}

export type Drafts = Readonly<Record<DraftName, Draft | null>>;

/** What may stand on one side of a pair. */
export type SideName = 'bench' | DraftName;

/** Two whole paths on trial: heard in place of in and out of circuit. */
export interface Pair {
  readonly in: SideName;
  readonly out: SideName;
}

export type DraftsAction =
  /** What is on the bench, in place of what the draft held. */
  | { readonly kind: 'lay-down'; readonly draft: DraftName }
  /** On the bench in place of what is there: one step to undo. */
  | { readonly kind: 'take-up'; readonly draft: DraftName }
  | { readonly kind: 'rename-draft'; readonly draft: DraftName; readonly title: string }
  | { readonly kind: 'clear-draft'; readonly draft: DraftName }
  /** Not while a side is empty; null: the whole path on the bench again. */
  | { readonly kind: 'pair-on-trial'; readonly pair: Pair | null };
