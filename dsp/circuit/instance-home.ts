import type { Arena, CodeMemory } from '../webassembly/index.ts';

/** Where compiled instances live: the code of a path's memory, and a part of that memory for their numbers. */
export interface InstanceHome {
  readonly memory: CodeMemory;
  readonly arena: Arena;
}
