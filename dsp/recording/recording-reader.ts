import type { RecordingFormat } from './wav-format.ts';

/**
 * Reads a file in pieces of any size: `push` a piece, `read` until it gives 0, and so on; `finish` at the end of the file.
 *
 * Between pushes it holds little: less than one frame of plain samples, at most one compressed block.
 */
export interface RecordingReader {
  /** Null until the header is complete. */
  readonly format: RecordingFormat | null;
  /** Takes the next bytes of the file; they may be reused afterwards only once `read` has given 0. Throws RecordingError on a foreign header. */
  push(bytes: Uint8Array): void;
  /** Decodes up to `frames` frames into `output` (one array a channel) from `outputFrame` on; gives how many there were. Throws RecordingError where they are damaged. */
  read(output: readonly Float64Array[], outputFrame: number, frames: number): number;
  /** Call at the end of the file, after the last read. Throws RecordingError where the file is shorter than it says; gives its format. */
  finish(): RecordingFormat;
}
