/** Recordings on disc, streamed: an hour of audio takes no more memory than a second. */
import { createHash } from 'node:crypto';
import { open, rename, rm } from 'node:fs/promises';
import type { FileHandle } from 'node:fs/promises';
import { AnyReader, encodeSamples, encodeWavHeader, frameBytes, paddingBytes, RecordingError } from '../../dsp/recording/index.ts';
import type { EncodeCounts, RecordingFormat, RecordingReader, WavFormat, WavSamples } from '../../dsp/recording/index.ts';

const pieceBytes = 1 << 18;

/** A recording opened for reading; `frameCount` is always known, from the header or from the file itself. */
export interface RecordingInput {
  readonly format: RecordingFormat;
  readonly frameCount: number;
}

/** Format and length. @throws RecordingError on a foreign or truncated file, naming it */
export async function inspectRecording(path: string): Promise<RecordingInput> {
  const file = await open(path, 'r');
  try {
    const reader = new AnyReader();
    await pushUntilFormat(file, reader);
    const format = reader.format ?? reader.finish();
    // Samples that lie one after the other are as many as there are bytes for.
    if (!('dataOffsetBytes' in format)) return { format, frameCount: format.frameCount ?? await countFrames(path) };
    const { size } = await file.stat();
    const { dataOffsetBytes } = format as WavFormat;
    const available = Math.floor((size - dataOffsetBytes) / frameBytes(format));
    if (format.frameCount !== null && available < format.frameCount) {
      throw new RecordingError(`samples: expected ${format.frameCount} frames, the file ends after ${available}`);
    }
    return { format, frameCount: format.frameCount ?? available };
  } catch (error) {
    throw named(path, error);
  } finally {
    await file.close();
  }
}

async function pushUntilFormat(file: FileHandle, reader: RecordingReader): Promise<void> {
  while (reader.format === null) {
    const piece = new Uint8Array(pieceBytes);
    const { bytesRead } = await file.read(piece);
    if (bytesRead === 0) return;
    reader.push(piece.subarray(0, bytesRead));
  }
}

async function countFrames(path: string): Promise<number> {
  let count = 0;
  for await (const { frames } of readBlocks(path, 1 << 16)) count += frames;
  return count;
}

/** Frames in blocks of at most `blockFrames`; the arrays are reused from block to block. */
export async function* readBlocks(path: string, blockFrames: number): AsyncGenerator<{ channels: Float64Array[]; frames: number }> {
  const file = await open(path, 'r');
  try {
    const reader = new AnyReader();
    let channels: Float64Array[] | null = null;
    for (;;) {
      const piece = new Uint8Array(pieceBytes);
      const { bytesRead } = await file.read(piece);
      if (bytesRead === 0) break;
      reader.push(piece.subarray(0, bytesRead));
      if (reader.format === null) continue;
      channels ??= Array.from({ length: reader.format.channelCount }, () => new Float64Array(blockFrames));
      for (let frames = reader.read(channels, 0, blockFrames); frames > 0; frames = reader.read(channels, 0, blockFrames)) {
        yield { channels, frames };
      }
    }
    reader.finish();
  } catch (error) {
    throw named(path, error);
  } finally {
    await file.close();
  }
}

/** Writes beside the wanted name and takes that name only when all is there; hashes the samples as float64, little-endian, interleaved. */
export class WavOutput {
  readonly counts: EncodeCounts = { clippedSamples: 0, notNumberSamples: 0 };
  readonly #path: string;
  readonly #partPath: string;
  readonly #samples: WavSamples;
  readonly #frameCount: number;
  readonly #hash = createHash('sha256');
  readonly #file: FileHandle;
  #framesWritten = 0;

  private constructor(path: string, partPath: string, samples: WavSamples, frameCount: number, file: FileHandle) {
    this.#path = path;
    this.#partPath = partPath;
    this.#samples = samples;
    this.#frameCount = frameCount;
    this.#file = file;
  }

  static async create(path: string, samples: WavSamples, frameCount: number): Promise<WavOutput> {
    const partPath = `${path}.part-${process.pid}`;
    const file = await open(partPath, 'wx');
    await file.write(encodeWavHeader(samples, frameCount));
    return new WavOutput(path, partPath, samples, frameCount, file);
  }

  async write(channels: readonly Float64Array[], firstFrame: number, frames: number): Promise<void> {
    const bytes = new Uint8Array(frames * frameBytes(this.#samples));
    encodeSamples(this.#samples, channels, firstFrame, frames, bytes, 0, this.counts);
    this.#hash.update(hashedBytes(channels, firstFrame, frames));
    await this.#file.write(bytes);
    this.#framesWritten += frames;
  }

  /** Gives the file its name; returns the SHA-256 of its samples. */
  async finish(): Promise<string> {
    if (this.#framesWritten !== this.#frameCount) throw new Error(`${this.#path}: expected ${this.#frameCount} frames, wrote ${this.#framesWritten}`);
    const padding = paddingBytes(this.#samples, this.#frameCount);
    if (padding > 0) await this.#file.write(new Uint8Array(padding));
    await this.#file.close();
    await rename(this.#partPath, this.#path);
    return this.#hash.digest('hex');
  }

  /** Leaves nothing behind. */
  async abandon(): Promise<void> {
    await this.#file.close().catch(() => undefined);
    await rm(this.#partPath, { force: true });
  }
}

/** The samples as they are hashed: float64, little-endian, interleaved. */
export function hashedBytes(channels: readonly Float64Array[], firstFrame: number, frames: number): Uint8Array {
  const bytes = new Uint8Array(frames * channels.length * 8);
  const view = new DataView(bytes.buffer);
  let at = 0;
  for (let frame = firstFrame; frame < firstFrame + frames; frame += 1) {
    for (const channel of channels) {
      view.setFloat64(at, channel[frame]!, true);
      at += 8;
    }
  }
  return bytes;
}

function named(path: string, error: unknown): unknown {
  return error instanceof RecordingError ? new RecordingError(`${path}: ${error.message}`) : error;
}
