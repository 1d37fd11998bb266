/** The path's block work as compiled code: pointers instead of arrays, and nothing else. */
import type { CodeMemory, Exports } from '../../webassembly/index.ts';
import type { BlockWork, MixNumbers } from '../block-work.ts';
import { blockModuleKey, emitBlocks } from './block-code.ts';

/** Null where the memory has no code for it. Not for the audio callback. */
export function compiledBlocks(memory: CodeMemory): BlockWork | null {
  const code = memory.code(blockModuleKey, emitBlocks);
  return code === null ? null : new CompiledBlocks(code);
}

/** All arrays must lie in the code's memory. Audio thread: allocates nothing, never throws, never waits. */
class CompiledBlocks implements BlockWork {
  readonly #code: Exports;

  constructor(code: Exports) {
    this.#code = code;
  }

  copy(from: Float64Array, to: Float64Array, frames: number): void {
    this.#code['copy']!(from.byteOffset, to.byteOffset, frames);
  }

  negate(from: Float64Array, to: Float64Array, frames: number): void {
    this.#code['negate']!(from.byteOffset, to.byteOffset, frames);
  }

  multiply(from: Float64Array, to: Float64Array, frames: number, ratio: Float64Array): void {
    this.#code['multiply']!(from.byteOffset, to.byteOffset, frames, ratio.byteOffset);
  }

  divide(from: Float64Array, to: Float64Array, frames: number, ratio: Float64Array): void {
    this.#code['divide']!(from.byteOffset, to.byteOffset, frames, ratio.byteOffset);
  }

  crossfade(into: Float64Array, other: Float64Array, frames: number, weights: Float64Array, position: number, step: number): void {
    this.#code['crossfade']!(into.byteOffset, other.byteOffset, frames, weights.byteOffset, weights.length - 1, position, step);
  }

  mix(
    wet: Float64Array, dry: Float64Array, frames: number, weights: Float64Array, position: number, step: number, gainPosition: number, numbers: MixNumbers, wholePath: boolean,
  ): void {
    this.#code['mix']!(
      wet.byteOffset, dry.byteOffset, frames, weights.byteOffset, weights.length - 1, position, step, gainPosition, numbers.byteOffset, wholePath ? 1 : 0,
    );
  }
}
