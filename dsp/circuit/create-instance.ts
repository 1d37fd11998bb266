/** Chooses the back end of an instance. */
import type { Arena, CodeMemory } from '../webassembly/index.ts';
import type { InstanceRunner } from './instance-runner.ts';
import type { CircuitProgram } from './program.ts';

/** Where compiled instances live: the code of a path's memory, and a part of that memory for their numbers. */
export interface InstanceHome {
  readonly memory: CodeMemory;
  readonly arena: Arena;
}
