// The work of the ladder on whole blocks: an interface with two back ends that give the same bits, `ladder-loops.ts` and `emit/ladder-code.ts`.
import type { Arena, CodeMemory } from '../webassembly/index.ts';

/** Where a compiled ladder lives: the code of a memory, and a part of that memory for its numbers. */
export interface LadderHome {
  readonly memory: CodeMemory;
  readonly arena: Arena;
}

/**
 * Two chains of sections (α + z⁻¹)/(1 + α z⁻¹), one a lane, over frames that stand in pairs. Section s of lane l has its coefficient at 2 s + l, its last input at 4 s + l and its
 * last output at 4 s + 2 + l; lane l has `counts[l]` sections, which differ by one at most.
 */
export interface AllPassPair {
  readonly coefficients: Float64Array;
  readonly states: Float64Array;
  readonly counts: readonly [number, number];
}

/** First-order all-pass (a + z⁻¹)/(1 + a z⁻¹): a, last input, last output. */
export type DelayLine = Float64Array;

/** Every method runs in the audio thread: nothing allocates, throws or waits. An `…At` is an index into the array before it. Magnitudes below `SMALLEST_STATE` are written as 0. */
export interface LadderWork {
  takeIn(from: Float64Array, fromAt: number, to: Float64Array, toAt: number, frames: number): void;
  /** Frames 0, 2, 4, … of `from` go to `even`, the others to `odd`; `frames` of each. */
  split(from: Float64Array, frames: number, even: Float64Array, evenAt: number, odd: Float64Array, oddAt: number): void;
  /** For each frame n from `start` on: Σ taps[j] (x[start + n − j] + x[n + j]), then x[n + taps.length], the centre. */
  interpolate(x: Float64Array, start: number, taps: Float64Array, frames: number, output: Float64Array, outputAt: number): void;
  /** For each frame n: ½ odd[n + m − 1] + Σ taps[j] (even[n + 2m − 1 − j] + even[n + j]), m taps. */
  decimate(even: Float64Array, odd: Float64Array, taps: Float64Array, frames: number, output: Float64Array, outputAt: number): void;
  /** Each frame twice. */
  double(from: Float64Array, frames: number, output: Float64Array, outputAt: number): void;
  /** Half the sum of each pair. */
  halve(pairs: Float64Array, frames: number, output: Float64Array, outputAt: number): void;
  /** In place on `frames` pairs. */
  allPass(pair: AllPassPair, samples: Float64Array, at: number, frames: number): void;
  /** In place. */
  delay(line: DelayLine, samples: Float64Array, at: number, frames: number): void;
}
