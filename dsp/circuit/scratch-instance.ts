/** Where periods are computed: a thread's scratch memory, and in it the instances of the programs last solved, so that a level sweep or a choice of rules makes each but once. */
import { scratchCodeMemory } from '../webassembly/index.ts';
import type { CodeMemory } from '../webassembly/index.ts';
import { measuringTolerance } from './channel-memory.ts';
import { createInstance, instanceBytes } from './create-instance.ts';
import type { InstanceRunner } from './instance-runner.ts';
import type { CircuitProgram, ProgramInstance } from './program.ts';

/** Longer periods are run in parts of this many samples. */
const chunkFrames = 4096;
const lanesBytes = 2 * 8 * chunkFrames;
/** Asked for at once: lanes, and instances of dozens of ordinary circuits. */
const leastBytes = 1 << 20;

export interface ScratchInstance {
  /** Two channels where a compiled kernel runs both at the price of one, else one. */
  readonly instance: InstanceRunner;
  /** One array a channel. */
  readonly lanes: readonly Float64Array[];
}

let memory: CodeMemory | null = null;
let lanes: readonly Float64Array[] = [];
/** Instances that live in `memory`, by the numbers they run. */
const known = new Map<ProgramInstance, InstanceRunner>();

/** Instance `index` of the program at the measuring tolerance; good until the next call on this thread. Off the audio thread. */
export function scratchInstance(program: CircuitProgram, index: number): ScratchInstance {
  const bytes = instanceBytes(program);
  const scratch = scratchCodeMemory(Math.max(leastBytes, bytes + lanesBytes));
  if (scratch === null) return { instance: createInstance(program, index, 1, measuringTolerance, null), lanes: [new Float64Array(chunkFrames)] };
  const numbers = program.instances[index]!;
  if (scratch === memory) {
    const instance = known.get(numbers);
    if (instance !== undefined && instance.program.devices === program.devices) return { instance, lanes };
  }
  if (scratch !== memory || scratch.arena.freeBytes < bytes) {
    memory = scratch;
    known.clear();
    memory.arena.clear();
    lanes = [memory.arena.floats(chunkFrames), memory.arena.floats(chunkFrames)];
  }
  const instance = createInstance(program, index, 2, measuringTolerance, { memory, arena: memory.arena });
  known.set(numbers, instance);
  return { instance, lanes };
}
