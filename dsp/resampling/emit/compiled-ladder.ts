// The ladder's work as compiled code: pointers instead of arrays, and nothing else.
import type { CodeMemory, Exports } from '../../webassembly/index.ts';
import type { AllPassPair, DelayLine, LadderWork } from '../ladder-work.ts';
import { emitLadder, ladderModuleKey } from './ladder-code.ts';

/** Null where the memory has no code for it. Not for the audio callback. */
export function compiledLadder(memory: CodeMemory): LadderWork | null {
  const code = memory.code(ladderModuleKey, emitLadder);
  return code === null ? null : new CompiledLadder(code);
}

/** Byte address of an entry. */
const at = (array: Float64Array, index: number): number => array.byteOffset + 8 * index;

/** All arrays must lie in the code's memory. Audio thread: allocates nothing, never throws, never waits. */
class CompiledLadder implements LadderWork {
  private readonly code: Exports;

  constructor(code: Exports) {
    this.code = code;
  }

  takeIn(from: Float64Array, fromAt: number, to: Float64Array, toAt: number, frames: number): void {
    this.code['takeIn']!(at(from, fromAt), at(to, toAt), frames);
  }

  split(from: Float64Array, frames: number, even: Float64Array, evenAt: number, odd: Float64Array, oddAt: number): void {
    this.code['split']!(from.byteOffset, frames, at(even, evenAt), at(odd, oddAt));
  }

  interpolate(x: Float64Array, start: number, taps: Float64Array, frames: number, output: Float64Array, outputAt: number): void {
    this.code['interpolate']!(x.byteOffset, start, taps.byteOffset, taps.length, frames, at(output, outputAt));
  }

  decimate(even: Float64Array, odd: Float64Array, taps: Float64Array, frames: number, output: Float64Array, outputAt: number): void {
    this.code['decimate']!(even.byteOffset, odd.byteOffset, taps.byteOffset, taps.length, frames, at(output, outputAt));
  }

  double(from: Float64Array, frames: number, output: Float64Array, outputAt: number): void {
    this.code['double']!(from.byteOffset, frames, at(output, outputAt));
  }

  halve(pairs: Float64Array, frames: number, output: Float64Array, outputAt: number): void {
    this.code['halve']!(pairs.byteOffset, frames, at(output, outputAt));
  }

  allPass({ coefficients, states, counts }: AllPassPair, samples: Float64Array, samplesAt: number, frames: number): void {
    const [lane0, lane1] = counts;
    const both = Math.min(lane0, lane1);
    this.code['allPassPairs']!(at(samples, samplesAt), frames, coefficients.byteOffset, states.byteOffset, both);
    for (let section = both; section < lane0; section++) {
      this.code['allPassSingle']!(at(samples, samplesAt), frames, at(coefficients, 2 * section), at(states, 4 * section));
    }
    for (let section = both; section < lane1; section++) {
      this.code['allPassSingle']!(at(samples, samplesAt + 1), frames, at(coefficients, 2 * section + 1), at(states, 4 * section + 1));
    }
  }

  delay(line: DelayLine, samples: Float64Array, samplesAt: number, frames: number): void {
    this.code['delay']!(line.byteOffset, at(samples, samplesAt), frames);
  }
}
