import type { StageHome } from '../stages/index.ts';
import { createCodeMemory } from '../webassembly/index.ts';
import { blockLoops } from './block-loops.ts';
import type { BlockWork } from './block-work.ts';
import { compiledBlocks } from './emit/compiled-blocks.ts';

/** The one memory of a path, of a size fixed when it is built: every array that compiled code touches lies in it. Without compiled code the arrays are JavaScript's own. */
export interface PathMemory {
  readonly work: BlockWork;
  /** Null: readable loops. */
  readonly home: StageHome | null;
  /** Zeroed. Not for the audio callback. */
  floats(length: number): Float64Array;
}

/** `bytes`: room for all that will be asked of it. Not for the audio callback. */
export function createPathMemory(bytes: number): PathMemory {
  const memory = createCodeMemory(bytes);
  if (memory === null) return { work: blockLoops, home: null, floats: (length) => new Float64Array(length) };
  const { arena } = memory;
  return { work: compiledBlocks(memory) ?? blockLoops, home: { memory, arena }, floats: (length) => arena.floats(length) };
}

/** What an arena gives up for `count` arrays of `length` float64s. */
export function arraysBytes(count: number, length: number): number {
  return count * (8 * length + 16);
}
