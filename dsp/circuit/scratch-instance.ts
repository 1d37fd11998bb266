/** Where periods are computed: a thread's scratch memory, so that a measurement makes none of its own. */
import { scratchCodeMemory } from '../webassembly/index.ts';
import { createInstance, instanceBytes } from './create-instance.ts';
import type { InstanceRunner } from './instance-runner.ts';
import type { CircuitProgram } from './program.ts';

/** Longer periods are run in parts of this many samples. */
const chunkFrames = 4096;
/** Asked for at once, so that one memory serves all but the largest circuits. */
const leastBytes = 131_072;

export interface ScratchInstance {
  /** Two channels where a compiled kernel runs both at the price of one, else one. */
  readonly instance: InstanceRunner;
  /** One array a channel. */
  readonly lanes: readonly Float64Array[];
}

/** Instance `index` of the program; good until the next call on this thread. Off the audio thread. */
export function scratchInstance(program: CircuitProgram, index: number, tolerance: number): ScratchInstance {
  const bytes = instanceBytes(program);
  const memory = bytes === 0 ? null : scratchCodeMemory(Math.max(leastBytes, bytes + 2 * 8 * chunkFrames));
  if (memory === null) return { instance: createInstance(program, index, 1, tolerance, null), lanes: [new Float64Array(chunkFrames)] };
  const lanes = [memory.arena.floats(chunkFrames), memory.arena.floats(chunkFrames)];
  return { instance: createInstance(program, index, 2, tolerance, { memory, arena: memory.arena }), lanes };
}
