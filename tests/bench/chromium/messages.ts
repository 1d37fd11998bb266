import type { PathPlan } from '../../../dsp/path/index.ts';
import type { KeyedModule } from '../../../worklets/compiled-code.ts';

export interface SpeedOptions {
  readonly plan: PathPlan;
  readonly modules: readonly KeyedModule[];
}

/** To the processor: run so many blocks at once and say how long they took; play with so many chains a block, counting from now on. */
export type ToSpeed = { readonly kind: 'time'; readonly blocks: number } | { readonly kind: 'play'; readonly chains: number } | { readonly kind: 'report' };

export type FromSpeed =
  | { readonly kind: 'timed'; readonly milliseconds: number }
  /** Late blocks and share of the block's time since `play`; the longest of the first 50 blocks after it, whole milliseconds. */
  | { readonly kind: 'report'; readonly lateBlocks: number; readonly load: number; readonly blocks: number; readonly longestFirstMilliseconds: number };
