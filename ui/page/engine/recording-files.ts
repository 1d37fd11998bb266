/** The page's end of the worker of recordings: opens files by the bench's own readers, or else by the browser. */
import * as Comlink from 'comlink';
import { compressedRateHz, highestRateHz, lowestRateHz } from '../../../dsp/recording/index.ts';
import { writeQuantity } from '../../../dsp/path/index.ts';
import type { KnownRecording } from '../../../worklets/workers/recording-keeper.ts';
import type { Recordings } from '../../../worklets/workers/recordings.ts';
import { sentenceOf } from '../sentence.ts';

export interface OpenedRecording extends KnownRecording {
  readonly readBy: 'bench' | 'browser';
  /** By the browser: whether it came at the rate of its file; null: that rate is not known. */
  readonly atOwnRate: boolean | null;
}

/** What the bench reads by itself begins so. */
const ownMarks = ['RIFF', 'RIFX', 'RF64', 'BW64', 'FORM', 'fLaC'];
/** The browser decodes a file whole into memory: an hour of it takes more than a gigabyte. */
const mostDecodedBytes = 100e6;
/** Looked at for the rate of a file, at either end. */
const headBytes = 1 << 20;
const otherwiseHz = 48_000;

export class RecordingFiles {
  // Made at once: after loading, the page asks the network for nothing.
  readonly #worker = new Worker(new URL('../../../worklets/workers/recordings.ts', import.meta.url), { type: 'module', name: 'recordings' });
  readonly #recordings = Comlink.wrap<Recordings>(this.#worker);

  #passages = 0;

  /** Null when `signal` gives it up; one does not end another. @throws Error with what is wrong with it, to follow its name */
  async open(file: Blob, tell: (done: number) => void, signal?: AbortSignal): Promise<OpenedRecording | null> {
    if (file.size === 0) throw new Error('the file is empty');
    const mark = String.fromCharCode(...await bytesOf(file, 0, 4));
    const opened = ownMarks.includes(mark) ? await this.#read(file, tell, signal) : await this.#decode(file);
    if (opened && !plays(opened.rateHz)) {
      this.forget(opened.key);
      throw new Error(`it is at ${writeQuantity(opened.rateHz, 'frequency', 'Hz')}, at which this browser plays nothing, and nothing is resampled here`);
    }
    return opened;
  }

  forget(key: number): void {
    void this.#recordings.forget(key);
  }

  /** Frames in memory, times `gain`; null when a newer call came. */
  stretch(key: number, firstFrame: number, frames: number, gain: number): Promise<Float64Array[] | null> {
    return this.#recordings.stretch(key, firstFrame, frames, gain);
  }

  dispose(): void {
    this.#worker.terminate();
  }

  async #read(file: Blob, tell: (done: number) => void, signal?: AbortSignal): Promise<OpenedRecording | null> {
    if (signal?.aborted) return null;
    this.#passages += 1;
    const passage = this.#passages;
    const giveUp = () => void this.#recordings.giveUp(passage);
    signal?.addEventListener('abort', giveUp);
    try {
      const known = await this.#recordings.pass(passage, file, Comlink.proxy(tell));
      return known && { ...known, readBy: 'bench', atOwnRate: true };
    } finally {
      signal?.removeEventListener('abort', giveUp);
    }
  }

  async #decode(file: Blob): Promise<OpenedRecording> {
    if (file.size > mostDecodedBytes) {
      throw new Error(`only the browser could decode it, and takes at most ${mostDecodedBytes / 1e6} MB, for all of it goes into memory; make a WAV or FLAC file of it`);
    }
    const rateHz = compressedRateHz(await bytesOf(file, 0, headBytes), await bytesOf(file, Math.max(0, file.size - headBytes), file.size));
    const asked = rateHz !== null && rateHz >= lowestRateHz && rateHz <= highestRateHz && plays(rateHz) ? rateHz : otherwiseHz;
    const buffer = await decoded(file, asked);
    if (buffer.numberOfChannels > 2) throw new Error(`expected 1 or 2 channels, got ${buffer.numberOfChannels}`);
    if (buffer.length === 0) throw new Error('it holds no sound');
    const channels = Array.from({ length: buffer.numberOfChannels }, (_, channel) => buffer.getChannelData(channel).slice());
    const known = await this.#recordings.take(file, Comlink.transfer(channels, channels.map(({ buffer: memory }) => memory)), buffer.sampleRate);
    return { ...known, readBy: 'browser', atOwnRate: rateHz === null ? null : rateHz === buffer.sampleRate };
  }
}

async function decoded(file: Blob, rateHz: number): Promise<AudioBuffer> {
  const context = new OfflineAudioContext({ numberOfChannels: 1, length: 1, sampleRate: rateHz });
  try {
    return await context.decodeAudioData(await file.arrayBuffer());
  } catch (error) {
    throw new Error(`it is no WAV, AIFF or FLAC file, and this browser cannot decode it (${sentenceOf(error)})`, { cause: error });
  }
}

/** Whether the browser makes a context of this rate. */
function plays(rateHz: number): boolean {
  try {
    return new OfflineAudioContext({ numberOfChannels: 1, length: 1, sampleRate: rateHz }).sampleRate === rateHz;
  } catch {
    return false;
  }
}

async function bytesOf(file: Blob, start: number, end: number): Promise<Uint8Array> {
  return new Uint8Array(await file.slice(start, end).arrayBuffer());
}
