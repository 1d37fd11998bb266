// What the stages of one ladder share: the back end of their work, and where their arrays come from.
import { compiledLadder } from './emit/compiled-ladder.ts';
import { ladderLoops } from './ladder-loops.ts';
import type { LadderHome, LadderWork } from './ladder-work.ts';

export interface LadderMemory {
  readonly work: LadderWork;
  /** Zeroed. Not for the audio callback. */
  floats(length: number): Float64Array;
}

/** Null: readable loops over arrays of their own. A home without code: readable loops over arrays there. */
export function ladderMemory(home: LadderHome | null): LadderMemory {
  if (home === null) return { work: ladderLoops, floats: (length) => new Float64Array(length) };
  return { work: compiledLadder(home.memory) ?? ladderLoops, floats: (length) => home.arena.floats(length) };
}

/** Bytes an arena gives up for so many arrays of so many float64s in all. */
export function bytesOf(arrays: number, floats: number): number {
  return 8 * floats + 16 * arrays;
}
