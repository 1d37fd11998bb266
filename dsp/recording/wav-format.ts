/**
 * What a WAV file holds, as far as the bench reads and writes it.
 *
 * Source: "Multimedia Programming Interface and Data Specifications 1.0", 1991 (RIFF, WAVE, format tag 1);
 * "Multiple channel audio data and WAVE files", 2001 (WAVE_FORMAT_EXTENSIBLE, 32-bit float);
 * EBU Tech 3306, "RF64: an extended file format for audio", 2009, and Recommendation ITU-R BS.2088 (BW64). All from memory.
 */

/** How one sample is stored, little-endian; the PCM codes are two's complement. */
export type SampleEncoding = 'pcm16' | 'pcm24' | 'pcm32' | 'float32' | 'float64';

export const sampleEncodings: readonly SampleEncoding[] = ['pcm16', 'pcm24', 'pcm32', 'float32', 'float64'];

/** Rates the bench takes, in hertz. */
export const lowestRateHz = 8_000;
export const highestRateHz = 384_000;

/** What a header says about its samples. */
export interface WavSamples {
  readonly encoding: SampleEncoding;
  readonly channelCount: 1 | 2;
  /** Whole hertz. */
  readonly rateHz: number;
}

/** What a file of any kind holds. */
export interface RecordingFormat extends WavSamples {
  readonly container: 'WAV' | 'AIFF' | 'FLAC';
  /** Frames promised by the file; null where it leaves its length open (a data size of 0xFFFFFFFF) and so ends with its last byte. */
  readonly frameCount: number | null;
}

/** A header that has been read, of samples that lie one after the other. */
export interface WavFormat extends RecordingFormat {
  /** First byte of the first sample, from the start of the file. */
  readonly dataOffsetBytes: number;
}

/** Bytes of one sample of one channel. */
export function sampleBytes(encoding: SampleEncoding): number {
  switch (encoding) {
    case 'pcm16': return 2;
    case 'pcm24': return 3;
    case 'pcm32': return 4;
    case 'float32': return 4;
    case 'float64': return 8;
  }
}

/** Bytes of one frame: one sample of every channel, interleaved. */
export function frameBytes(samples: WavSamples): number {
  return samples.channelCount * sampleBytes(samples.encoding);
}
