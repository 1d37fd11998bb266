/** What a path does to whole blocks. Audio thread: nothing here allocates, throws or waits. */

export function copyFrames(from: Float64Array, to: Float64Array, frames: number): void {
  for (let i = 0; i < frames; i += 1) to[i] = from[i]!;
}

/** `to = 0 − from`; may be the same array. */
export function negate(from: Float64Array, to: Float64Array, frames: number): void {
  for (let i = 0; i < frames; i += 1) to[i] = 0 - from[i]!;
}
