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
    const half = lane0 === lane1 ? -1 : lane0 > lane1 ? 0 : 1;
    this.code['allPass']!(at(samples, samplesAt), frames, coefficients.byteOffset, states.byteOffset, Math.max(lane0, lane1), half);
  }

  delay(line: DelayLine, samples: Float64Array, samplesAt: number, frames: number): void {
    this.code['delay']!(line.byteOffset, at(samples, samplesAt), frames);
  }
}
