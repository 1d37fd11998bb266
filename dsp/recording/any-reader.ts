import { AiffScanner, type AiffFormat } from './aiff-scanner.ts';
import { FlacReader } from './flac-reader.ts';
import { PlainReader } from './plain-reader.ts';
import { RecordingError } from './recording-error.ts';
import type { Landmark, RecordingReader } from './recording-reader.ts';
import type { RecordingFormat } from './wav-format.ts';
import { WavReader } from './wav-reader.ts';

const markBytes = 4;

/** Reads WAV, AIFF or FLAC, whichever its first four bytes say. */
export class AnyReader implements RecordingReader {
  #reader: RecordingReader | null = null;
  #head: Uint8Array = new Uint8Array(0);

  get format(): RecordingFormat | null {
    return this.#reader?.format ?? null;
  }

  get landmark(): Landmark | null {
    return this.#reader?.landmark ?? null;
  }

  push(bytes: Uint8Array): void {
    if (this.#reader) {
      this.#reader.push(bytes);
      return;
    }
    const joined = new Uint8Array(this.#head.length + bytes.length);
    joined.set(this.#head);
    joined.set(bytes, this.#head.length);
    this.#head = joined;
    if (joined.length < markBytes) return;
    this.#reader = readerFor(String.fromCharCode(...joined.subarray(0, markBytes)));
    this.#reader.push(joined);
    this.#head = new Uint8Array(0);
  }

  read(output: readonly Float64Array[], outputFrame: number, frames: number): number {
    return this.#reader?.read(output, outputFrame, frames) ?? 0;
  }

  finish(): RecordingFormat {
    if (this.#reader === null) throw new RecordingError(`header: expected a WAV, AIFF or FLAC file, the file ends after ${this.#head.length} bytes`);
    return this.#reader.finish();
  }
}

function readerFor(mark: string): RecordingReader {
  switch (mark) {
    case 'RIFF': case 'RIFX': case 'RF64': case 'BW64':
      return new WavReader();
    case 'FORM':
      return new PlainReader<AiffFormat>(new AiffScanner(), 'SSND chunk', ({ isBigEndian }) => isBigEndian);
    case 'fLaC':
      return new FlacReader();
    default:
      throw new RecordingError(`header: expected a WAV, AIFF or FLAC file, got one that begins with ${JSON.stringify(mark.replace(/[^ -~]/g, '?'))}`);
  }
}

/** A whole recording in memory: one array a channel, full scale ±1. */
export interface Recording {
  readonly format: RecordingFormat;
  readonly channels: readonly Float64Array[];
}

const blockFrames = 1 << 16;

/** Reads a file that is wholly in memory. Throws RecordingError. */
export function parseWholeRecording(bytes: Uint8Array): Recording {
  const reader = new AnyReader();
  reader.push(bytes);
  const format = reader.format ?? reader.finish();
  let channels = Array.from({ length: format.channelCount }, () => new Float64Array(format.frameCount === null ? blockFrames : Math.min(format.frameCount, mostFramesIn(bytes))));
  let frames = 0;
  for (;;) {
    if (frames === channels[0]!.length) {
      if (frames === format.frameCount) break;
      channels = channels.map((channel) => {
        const longer = new Float64Array(2 * channel.length + blockFrames);
        longer.set(channel);
        return longer;
      });
    }
    const count = reader.read(channels, frames, Math.min(blockFrames, channels[0]!.length - frames));
    if (count === 0) break;
    frames += count;
  }
  reader.finish();
  return { format, channels: channels.map((channel) => (channel.length === frames ? channel : channel.slice(0, frames))) };
}

/** More frames than these bytes can hold are not given room for beforehand, whatever a header says. */
const mostFramesIn = (bytes: Uint8Array): number => 64 * bytes.length;
