/** A recording in a file that may be longer than memory: passed through once from end to end, then read in stretches. Pure but for the file. */
import { Sha256 } from '../../dsp/math/index.ts';
import { AnyReader, OverviewMaker, RecordingError, type Landmark, type Overview, type RecordingFormat } from '../../dsp/recording/index.ts';
import type { JobControl } from './slices.ts';

/** What of a Blob is used here. */
export interface FileBytes {
  readonly size: number;
  slice(start: number, end: number): { arrayBuffer(): Promise<ArrayBuffer> };
}

export interface PassedRecording {
  readonly format: RecordingFormat;
  readonly overview: Overview;
  /** Of all the file's bytes. */
  readonly sha256: string;
  /** Where reading may begin, the first at the first sample. */
  readonly landmarks: readonly Landmark[];
}

/** A longer file is refused before it is read. */
export const largestFileBytes = 8e9;
const pieceBytes = 1 << 22;
const blockFrames = 1 << 16;
/** One landmark in so many frames, at most. */
const landmarkFrames = 1 << 18;
/** Up to here the browser's own digest takes the file whole; it is faster, and holds it in memory. */
const wholeDigestBytes = 1 << 28;

/**
 * Passes through the file from its first to its last byte. `tell` gets the share done. Null when given up.
 *
 * Throws RecordingError where it is no recording, or damaged, or shorter than it says, or holds no samples.
 */
export async function passThrough(file: FileBytes, control: JobControl, tell: (done: number) => void): Promise<PassedRecording | null> {
  if (file.size > largestFileBytes) throw new RecordingError(`expected a file of at most ${largestFileBytes / 1e9} GB, got ${(file.size / 1e9).toFixed(1)} GB`);
  const reader = new AnyReader();
  const overview = new OverviewMaker();
  const digest = digestOf(file);
  const landmarks: Landmark[] = [];
  let block: Float64Array[] = [];
  for (let at = 0; at < file.size; at += pieceBytes) {
    const bytes = await piece(file, at, at + pieceBytes);
    if (control.cancelled) return null;
    digest.update(bytes);
    reader.push(bytes);
    if (block.length === 0 && reader.format) block = Array.from({ length: reader.format.channelCount }, () => new Float64Array(blockFrames));
    for (;;) {
      const { landmark } = reader;
      if (landmark && (landmarks.length === 0 || landmark.frame >= landmarks.at(-1)!.frame + landmarkFrames)) landmarks.push(landmark);
      const count = block.length === 0 ? 0 : reader.read(block, 0, blockFrames);
      if (count === 0) break;
      overview.take(block, count);
    }
    tell(Math.min(1, (at + pieceBytes) / file.size));
  }
  const format = reader.finish();
  const seen = overview.finish();
  if (seen.frames === 0) throw new RecordingError('expected at least one frame of samples, the file holds none');
  const sha256 = await digest.hex();
  return control.cancelled ? null : { format, overview: seen, sha256, landmarks };
}

/**
 * The frames from `firstFrame` on into `output`, one array a channel, as many as it holds, times `gain`. False when given up, or when there are fewer.
 */
export async function readStretch(file: FileBytes, { landmarks }: PassedRecording, firstFrame: number, gain: number, output: readonly Float64Array[], control: JobControl): Promise<boolean> {
  const frames = output[0]!.length;
  const start = landmarks.findLast(({ frame }) => frame <= firstFrame) ?? landmarks[0]!;
  const reader = new AnyReader();
  reader.push(await piece(file, 0, landmarks[0]!.byte));
  const skipped = output.map(() => new Float64Array(blockFrames));
  let skip = firstFrame - start.frame;
  let done = 0;
  for (let at = start.byte; at < file.size && done < frames; at += pieceBytes) {
    reader.push(await piece(file, at, at + pieceBytes));
    if (control.cancelled) return false;
    for (;;) {
      const into = skip > 0 ? skipped : output;
      const wanted = skip > 0 ? Math.min(skip, blockFrames) : Math.min(frames - done, blockFrames);
      const count = reader.read(into, skip > 0 ? 0 : done, wanted);
      if (count === 0) break;
      if (skip > 0) skip -= count;
      else done += count;
    }
  }
  if (gain !== 1) for (const channel of output) for (let i = 0; i < done; i += 1) channel[i]! *= gain;
  return done === frames;
}

/** Of all bytes of a file that fits into memory. */
export async function sha256Of(file: FileBytes): Promise<string> {
  const digest = digestOf(file);
  digest.update(await piece(file, 0, file.size));
  return digest.hex();
}

async function piece(file: FileBytes, start: number, end: number): Promise<Uint8Array<ArrayBuffer>> {
  return new Uint8Array(await file.slice(start, Math.min(end, file.size)).arrayBuffer());
}

interface Digest {
  update(bytes: Uint8Array): void;
  hex(): Promise<string>;
}

/** SHA-256, FIPS 180-4. Where the browser has no digest of its own (a page that is not secure), ours. */
function digestOf(file: FileBytes): Digest {
  const { subtle } = globalThis.crypto as { readonly subtle?: SubtleCrypto };
  if (subtle === undefined || file.size > wholeDigestBytes) {
    const sha256 = new Sha256();
    return { update: (bytes) => void sha256.update(bytes), hex: () => Promise.resolve(sha256.digestHex()) };
  }
  return {
    update: () => undefined,
    hex: async () => Array.from(new Uint8Array(await subtle.digest('SHA-256', await piece(file, 0, file.size))), (byte) => byte.toString(16).padStart(2, '0')).join(''),
  };
}
