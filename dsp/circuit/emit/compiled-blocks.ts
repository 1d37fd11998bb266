// The work on blocks as compiled code: pointers instead of arrays, and nothing else.
import type { CodeMemory, Exports } from '../../webassembly/index.ts';
import type { BlockWork } from '../sub-steps.ts';
import { blockModuleKey, emitBlocks } from './block-code.ts';

/** Null where the memory has no code for it. All arrays given to it must lie in that memory. Not for the audio callback. */
export function compiledBlocks(memory: CodeMemory): BlockWork | null {
  const code = memory.code(blockModuleKey, emitBlocks);
  return code === null ? null : new CompiledBlocks(code);
}

/** Byte address of an entry. */
const at = (array: Float64Array, index: number): number => array.byteOffset + 8 * index;

/** Audio thread: allocates nothing, never throws, never waits. */
class CompiledBlocks implements BlockWork {
  private readonly code: Exports;

  constructor(code: Exports) {
    this.code = code;
  }

  subInputs(from: Float64Array, fromAt: number, frames: number, subSteps: 2 | 4, history: Float64Array, to: Float64Array): void {
    const code = subSteps === 2 ? this.code['subInputs2']! : this.code['subInputs4']!;
    code(at(from, fromAt), history.byteOffset, frames, to.byteOffset);
  }

  combine(coarse: Float64Array, coarseSteps: number, fine: Float64Array, fineSteps: number, frames: number, to: Float64Array, toAt: number): void {
    this.code['combine']!(coarse.byteOffset, coarseSteps, fine.byteOffset, fineSteps, frames, at(to, toAt));
  }

  scaleInput(samples: Float64Array, from: number, frames: number, gain: number): number {
    return this.code['scaleInput']!(at(samples, from), frames, gain);
  }

  cleanInput(samples: Float64Array, from: number, frames: number, gain: number): number {
    return this.code['cleanInput']!(at(samples, from), frames, gain);
  }

  finishOutput(samples: Float64Array, from: number, frames: number, rest: number, gain: number, peak: number): number {
    return this.code['finishOutput']!(at(samples, from), frames, rest, gain, peak);
  }
}
