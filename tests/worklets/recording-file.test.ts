import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { sha256, SeededRandom } from '../../dsp/math/index.ts';
import { encodeWavHeader, encodeWholeWav, parseWholeRecording, RecordingError } from '../../dsp/recording/index.ts';
import { passThrough, readStretch, type FileBytes } from '../../worklets/workers/recording-file.ts';

const file = (name: string): Uint8Array<ArrayBuffer> => new Uint8Array(readFileSync(new URL(`../recording/files/${name}`, import.meta.url)));
const going = { cancelled: false };
const untold = () => undefined;

/** FLAC of many blocks: those of the file, again and again, of open length. */
function longFlac(times: number): Uint8Array<ArrayBuffer> {
  const bytes = file('stereo24-level5.flac');
  let at = 4;
  for (let last = false; !last;) {
    last = bytes[at]! >= 128;
    at += 4 + bytes[at + 1]! * 65_536 + bytes[at + 2]! * 256 + bytes[at + 3]!;
  }
  const head = bytes.slice(0, at);
  // Number of samples: not known.
  head[21]! &= 0xf0;
  head.fill(0, 22, 26);
  const body = bytes.subarray(at);
  const long = new Uint8Array(head.length + times * body.length);
  long.set(head);
  for (let k = 0; k < times; k += 1) long.set(body, head.length + k * body.length);
  return long;
}

function longWav(frames: number): Uint8Array<ArrayBuffer> {
  const random = new SeededRandom(11);
  const channels = [0, 1].map(() => Float64Array.from({ length: frames }, () => random.nextUnit() - 0.5));
  return encodeWholeWav({ encoding: 'pcm24', channelCount: 2, rateHz: 44_100 }, channels, { clippedSamples: 0, notNumberSamples: 0 }) as Uint8Array<ArrayBuffer>;
}

describe.each([
  ['WAV', longWav(1_100_000)], ['FLAC', longFlac(120)], ['AIFF', file('stereo24.aiff')], ['a mono FLAC', file('mono16.flac')],
] as const)('%s passed through', (_name, bytes) => {
  const whole = parseWholeRecording(bytes);

  it('has the format, length, checksum and peaks of the file read whole', async () => {
    const told: number[] = [];
    const passed = (await passThrough(new Blob([bytes]), going, (done) => told.push(done)))!;
    expect(passed.format).toEqual(whole.format);
    expect(passed.sha256).toBe(sha256(bytes));
    expect(passed.overview.frames).toBe(whole.channels[0]!.length);
    const all = whole.channels.flatMap((channel) => [...extremes(channel)]);
    expect(extremes(passed.overview.pairs)).toEqual([Math.min(...all), Math.max(...all)].map(Math.fround));
    expect(told.at(-1)).toBe(1);
  });

  it('is read in stretches to the sample, from anywhere, and by a gain', async () => {
    const blob = new Blob([bytes]);
    const passed = (await passThrough(blob, going, untold))!;
    const { frames } = passed.overview;
    for (const [first, length, gain] of [[0, 1000, 1], [Math.floor(frames / 3), 1500, 0.5], [frames - 700, 700, 1], [Math.min(frames - 1, 262_144), 1, 1]] as const) {
      const output = whole.channels.map(() => new Float64Array(length));
      expect(await readStretch(blob, passed, first, gain, output, going)).toBe(true);
      expect(output).toEqual(whole.channels.map((channel) => channel.slice(first, first + length).map((sample) => gain * sample)));
    }
    expect(await readStretch(blob, passed, frames - 10, 1, whole.channels.map(() => new Float64Array(11)), going)).toBe(false);
  });
});

describe('passing through a file', () => {
  it('reads a stretch far into a long file without what lies before', async () => {
    const bytes = longWav(1_100_000);
    const passed = (await passThrough(new Blob([bytes]), going, untold))!;
    let read = 0;
    const counted: FileBytes = { size: bytes.length, slice: (start, end) => {
      read += end - start;
      return new Blob([bytes.subarray(start, end)]);
    } };
    await readStretch(counted, passed, 1_050_000, 1, [new Float64Array(100), new Float64Array(100)], going);
    expect(read).toBeLessThan(bytes.length / 4);
  });

  it('can be given up, and then gives nothing', async () => {
    const control = { cancelled: false };
    expect(await passThrough(new Blob([longWav(1_100_000)]), control, () => { control.cancelled = true; })).toBeNull();
  });

  it.each(['stereo24.wav', 'stereo24-level8.flac', 'stereo24.aiff'])('refuses %s where it is cut, with a sentence', async (name) => {
    const bytes = file(name);
    for (const length of [0, 3, 11, 40, 1000, Math.floor(bytes.length / 2), bytes.length - 2]) {
      const error: unknown = await passThrough(new Blob([bytes.slice(0, length)]), going, untold).catch((reason: unknown) => reason);
      expect(error).toBeInstanceOf(RecordingError);
      expect((error as Error).message).toMatch(/expected/);
    }
  });

  it('refuses what is too large before reading it, what is of another kind, and what holds no samples', async () => {
    const unread: FileBytes = { size: 9e9, slice: () => { throw new Error('read'); } };
    await expect(passThrough(unread, going, untold)).rejects.toThrow('expected a file of at most 8 GB, got 9.0 GB');
    await expect(passThrough(new Blob(['%PDF-1.7 and more']), going, untold)).rejects.toThrow('expected a WAV, AIFF or FLAC file');
    const empty = encodeWavHeader({ encoding: 'pcm16', channelCount: 1, rateHz: 48_000 }, 0) as Uint8Array<ArrayBuffer>;
    await expect(passThrough(new Blob([empty]), going, untold)).rejects.toThrow('expected at least one frame of samples');
  });
});

function extremes(samples: ArrayLike<number>): [number, number] {
  let [least, most] = [Infinity, -Infinity];
  for (let i = 0; i < samples.length; i += 1) {
    least = Math.min(least, samples[i]!);
    most = Math.max(most, samples[i]!);
  }
  return [least, most];
}
