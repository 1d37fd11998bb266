import type { RecordingFormat } from './wav-format.ts';

/**
 * A place between two frames of a file: a fresh reader that has been pushed the file up to its first landmark, and then what follows this one, goes on with the
 * same samples.
 */
export interface Landmark {
  /** The first frame that comes after it. */
  readonly frame: number;
  readonly byte: number;
}

/**
 * Reads a file in pieces of any size: `push` a piece, `read` until it gives 0, and so on; `finish` at the end of the file.
 *
 * Between pushes it holds little: less than one frame of plain samples, at most one compressed block.
 */
export interface RecordingReader {
  /** Where reading may go on in the file; null before the first sample can be. */
  readonly landmark: Landmark | null;

  /** Null until the header is complete. */
  readonly format: RecordingFormat | null;
  /** Takes the next bytes of the file; they may be reused afterwards only once `read` has given 0. Throws RecordingError on a foreign header. */
  push(bytes: Uint8Array): void;
  /** Decodes up to `frames` frames into `output` (one array a channel) from `outputFrame` on; gives how many there were. Throws RecordingError where they are damaged. */
  read(output: readonly Float64Array[], outputFrame: number, frames: number): number;
  /** Call at the end of the file, after the last read. Throws RecordingError where the file is shorter than it says; gives its format. */
  finish(): RecordingFormat;
}
