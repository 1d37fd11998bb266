/**
 * The header of AIFF and AIFF-C files, big-endian. Source: "Audio Interchange File Format: AIFF", 1989, and its draft extension AIFF-C, 1991 (from memory):
 * FORM, size, AIFF or AIFC; COMM with channels, frames, bits, rate as an 80-bit float; SSND with an offset, a block size and the samples.
 */
import { powerOfTwo } from '../math/index.ts';
import { ChunkScanner, fourCharacters } from './chunk-scanner.ts';
import { RecordingError } from './recording-error.ts';
import { frameBytes, highestRateHz, lowestRateHz, type SampleEncoding, type WavFormat } from './wav-format.ts';

const formHeaderBytes = 12;
const chunkHeaderBytes = 8;
const soundHeaderBytes = 8;
const longestCommonBytes = 65_536;

export interface AiffFormat extends WavFormat {
  readonly isBigEndian: boolean;
}

type Samples = Pick<AiffFormat, 'encoding' | 'channelCount' | 'rateHz' | 'isBigEndian'> & { readonly frameCount: number };

const fail = (what: string, expected: string, got: string | number): never => {
  throw new RecordingError(`COMM chunk: ${what}: expected ${expected}, got ${got}`);
};

/** IEEE 754 80-bit float, as the rate is written. */
function extendedAt(view: DataView, offset: number): number {
  const signed = view.getUint16(offset);
  const exponent = (signed & 0x7fff) - 16383 - 63;
  const mantissa = view.getUint32(offset + 2) * 4_294_967_296 + view.getUint32(offset + 6);
  return (signed & 0x8000 ? -1 : 1) * mantissa * powerOfTwo(exponent);
}

function encodingOf(compression: string, bits: number): { readonly encoding: SampleEncoding; readonly isBigEndian: boolean } {
  switch (compression) {
    case 'NONE': case 'twos': case 'sowt': {
      const isBigEndian = compression !== 'sowt';
      // Fewer bits than their bytes hold lie at the top.
      if (bits > 8 && bits <= 16) return { encoding: 'pcm16', isBigEndian };
      if (bits > 16 && bits <= 24) return { encoding: 'pcm24', isBigEndian };
      if (bits > 24 && bits <= 32) return { encoding: 'pcm32', isBigEndian };
      return fail('bits per sample', '9 to 32', bits);
    }
    case 'fl32': case 'FL32':
      return { encoding: 'float32', isBigEndian: true };
    case 'fl64': case 'FL64':
      return { encoding: 'float64', isBigEndian: true };
    default:
      return fail('compression', 'NONE, twos, sowt, fl32 or fl64', `"${compression}"`);
  }
}

/** Walks the chunks of an AIFF file up to its samples. Throws RecordingError on anything foreign. */
export class AiffScanner extends ChunkScanner {
  format: AiffFormat | null = null;

  private expecting: 'form' | 'chunk' | 'COMM' | 'SSND' | 'last before samples' = 'form';
  private chunkSize = 0;
  private isCompressedKind = false;
  private samples: Samples | null = null;

  constructor() {
    super(formHeaderBytes);
  }

  truncated(): RecordingError {
    return new RecordingError(`byte ${this.position}: expected ${this.samples === null ? 'a "COMM" chunk' : 'an "SSND" chunk'} before the samples, the file ends here`);
  }

  protected isDone(): boolean {
    return this.format !== null;
  }

  protected take(view: DataView): void {
    switch (this.expecting) {
      case 'form': {
        const inner = fourCharacters(view, 8);
        if (inner !== 'AIFF' && inner !== 'AIFC') throw new RecordingError(`header: expected "AIFF" or "AIFC" after "FORM", got "${inner}"`);
        this.isCompressedKind = inner === 'AIFC';
        return this.expectChunk(0);
      }
      case 'chunk': return this.takeChunkHeader(view);
      case 'COMM':
        this.samples = this.commonOf(view);
        return this.expectChunk(this.chunkSize % 2);
      case 'SSND': return this.takeSound(view);
      case 'last before samples': return this.reach();
    }
  }

  private takeChunkHeader(view: DataView): void {
    const name = fourCharacters(view, 0);
    this.chunkSize = view.getUint32(4);
    if (name === 'COMM') {
      const least = this.isCompressedKind ? 22 : 18;
      if (this.chunkSize < least || this.chunkSize > longestCommonBytes) throw new RecordingError(`COMM chunk: expected ${least} to ${longestCommonBytes} bytes, got ${this.chunkSize}`);
      this.expecting = 'COMM';
      this.wantedBytes = this.chunkSize;
      return;
    }
    if (name === 'SSND') {
      if (this.samples === null) throw new RecordingError('SSND chunk: expected a "COMM" chunk before it, got none');
      this.expecting = 'SSND';
      this.wantedBytes = soundHeaderBytes;
      return;
    }
    this.expectChunk(this.chunkSize + (this.chunkSize % 2));
  }

  private commonOf(view: DataView): Samples {
    const channelCount = view.getUint16(0);
    const frameCount = view.getUint32(2);
    const bits = view.getUint16(6);
    const rateHz = extendedAt(view, 8);
    const kind = encodingOf(this.isCompressedKind ? fourCharacters(view, 18) : 'NONE', bits);
    if (channelCount !== 1 && channelCount !== 2) return fail('channels', '1 or 2', channelCount);
    if (!(rateHz >= lowestRateHz && rateHz <= highestRateHz) || rateHz !== Math.floor(rateHz)) return fail('sample rate', `whole hertz from ${lowestRateHz} to ${highestRateHz}`, `${rateHz} Hz`);
    return { ...kind, channelCount, frameCount, rateHz };
  }

  private takeSound(view: DataView): void {
    const samples = this.samples!;
    const offset = view.getUint32(0);
    const bytes = this.chunkSize - soundHeaderBytes - offset;
    const wanted = samples.frameCount * frameBytes(samples);
    if (bytes < wanted) throw new RecordingError(`SSND chunk: expected ${wanted} bytes for ${samples.frameCount} frames, got ${bytes}`);
    if (offset === 0) {
      this.reach();
      return;
    }
    // Steps up to the last byte before the first sample, and takes that one.
    this.expecting = 'last before samples';
    this.skipBytes = offset - 1;
    this.wantedBytes = 1;
  }

  private reach(): void {
    this.format = { container: 'AIFF', ...this.samples!, dataOffsetBytes: this.position };
  }

  private expectChunk(skip: number): void {
    this.skipBytes = skip;
    this.expecting = 'chunk';
    this.wantedBytes = chunkHeaderBytes;
  }
}
