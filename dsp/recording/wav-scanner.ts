import { ChunkScanner, fourCharacters } from './chunk-scanner.ts';
import { RecordingError } from './recording-error.ts';
import { parseFormatChunk } from './format-chunk.ts';
import { frameBytes, type WavFormat, type WavSamples } from './wav-format.ts';

const riffHeaderBytes = 12;
const chunkHeaderBytes = 8;
/** Size field of a chunk whose length was left open, or is told by ds64. */
const openSize = 0xffff_ffff;
/** No format or ds64 chunk in use is longer; a longer one is a damaged file, and is not collected. */
const longestCollectedChunkBytes = 65_536;

/**
 * Walks the chunks of a WAV file up to its samples, over bytes that arrive in pieces of any size.
 *
 * Chunks it does not know are stepped over without being kept, each with the padding byte after an odd size. Memory is bounded by
 * the longest format chunk. RF64 and BW64 take their data size from ds64. Throws RecordingError on anything foreign.
 */
export class WavScanner extends ChunkScanner {
  /** Set once the first sample has been reached. */
  format: WavFormat | null = null;

  private expecting: 'riff' | 'chunk' | 'fmt ' | 'ds64' = 'riff';
  private chunkSize = 0;
  private samples: WavSamples | null = null;
  private isLong = false;
  private longDataBytes: number | null = null;

  constructor() {
    super(riffHeaderBytes);
  }

  /** The error of a file that ends here, before its samples. */
  truncated(): RecordingError {
    if (this.expecting === 'riff') {
      return new RecordingError(`header: expected a WAV file to begin with ${riffHeaderBytes} bytes "RIFF", size, "WAVE", the file ends after ${this.position}`);
    }
    if (this.skipBytes > 0 || this.expecting !== 'chunk' || this.held.length > 0) {
      return new RecordingError(`byte ${this.position}: expected the rest of a chunk before the samples, the file ends here`);
    }
    return new RecordingError(`byte ${this.position}: expected a "${this.samples === null ? 'fmt ' : 'data'}" chunk, the file ends here`);
  }

  protected isDone(): boolean {
    return this.format !== null;
  }

  protected take(view: DataView): void {
    switch (this.expecting) {
      case 'riff': return this.takeRiff(view);
      case 'chunk': return this.takeChunkHeader(view);
      case 'fmt ':
        this.samples = parseFormatChunk(view);
        return this.afterChunk(this.chunkSize);
      case 'ds64': {
        if (view.byteLength < 16) throw new RecordingError(`ds64 chunk: expected at least 16 bytes, got ${view.byteLength}`);
        this.longDataBytes = view.getUint32(8, true) + view.getUint32(12, true) * 4_294_967_296;
        return this.afterChunk(this.chunkSize);
      }
    }
  }

  private takeRiff(view: DataView): void {
    const outer = fourCharacters(view, 0);
    const inner = fourCharacters(view, 8);
    if (outer === 'RIFX') throw new RecordingError('header: expected little-endian "RIFF", got big-endian "RIFX"');
    this.isLong = outer === 'RF64' || outer === 'BW64';
    if (!this.isLong && outer !== 'RIFF') throw new RecordingError(`header: expected a WAV file to begin with "RIFF", got "${outer}"`);
    if (inner !== 'WAVE') throw new RecordingError(`header: expected "WAVE" after "${outer}", got "${inner}"`);
    this.expectChunk();
  }

  private takeChunkHeader(view: DataView): void {
    const name = fourCharacters(view, 0);
    this.chunkSize = view.getUint32(4, true);
    if (name === 'data') return this.takeData();
    if (this.chunkSize === openSize) throw new RecordingError(`"${name}" chunk at byte ${this.position - chunkHeaderBytes}: expected a size, got 0xFFFFFFFF`);
    if ((name !== 'fmt ' || this.samples !== null) && (name !== 'ds64' || !this.isLong)) return this.afterChunk(0);
    if (this.chunkSize > longestCollectedChunkBytes) {
      throw new RecordingError(`"${name}" chunk: expected at most ${longestCollectedChunkBytes} bytes, got ${this.chunkSize}`);
    }
    this.expecting = name === 'fmt ' ? 'fmt ' : 'ds64';
    this.wantedBytes = this.chunkSize;
    // An empty chunk would never fill the buffer: judge it now, so that it is refused.
    if (this.chunkSize === 0) this.take(new DataView(new ArrayBuffer(0)));
  }

  private takeData(): void {
    if (this.samples === null) throw new RecordingError('data chunk: expected a "fmt " chunk before it, got none');
    const isOpen = this.chunkSize === openSize;
    if (isOpen && this.isLong && this.longDataBytes === null) throw new RecordingError('data chunk: expected its size in a "ds64" chunk, got none');
    const bytes = isOpen ? this.longDataBytes : this.chunkSize;
    const frame = frameBytes(this.samples);
    if (bytes !== null && bytes % frame !== 0) {
      throw new RecordingError(`data chunk: expected whole frames of ${frame} bytes, got ${bytes} bytes`);
    }
    if (bytes !== null && bytes > Number.MAX_SAFE_INTEGER) throw new RecordingError(`data chunk: expected fewer than 2^53 bytes, got ${bytes}`);
    this.format = { container: 'WAV', ...this.samples, dataOffsetBytes: this.position, frameCount: bytes === null ? null : bytes / frame };
  }

  /** Steps to the next chunk; `takenBytes` of this one have been read. */
  private afterChunk(takenBytes: number): void {
    this.skipBytes = this.chunkSize - takenBytes + (this.chunkSize % 2);
    this.expectChunk();
  }

  private expectChunk(): void {
    this.expecting = 'chunk';
    this.wantedBytes = chunkHeaderBytes;
  }
}
