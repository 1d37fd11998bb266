// What one running stage of the ladder offers to its neighbours.

/** The longest stretch, in base frames, that passes through the ladder at once. */
export const CHUNK_BASE_FRAMES = 128;

/** States below this are zeroed, or decaying tails would become subnormal numbers, which are slow. */
export const SMALLEST_STATE = 1e-30;

/** One doubling or halving of the rate for one channel. Runs in the audio thread: `run` allocates nothing. */
export interface StageRunner {
  /** Where the stage before writes: `run(frames)` reads input[inputStart …]. Values below 1e-30 must be written as 0. */
  readonly input: Float64Array;
  readonly inputStart: number;
  /** `frames` at the lower of the stage's two rates. Output values below 1e-30 are written as 0. */
  run(frames: number, output: Float64Array, outputOffset: number): void;
  reset(): void;
}
