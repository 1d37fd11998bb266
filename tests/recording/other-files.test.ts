/**
 * AIFF and FLAC, held to WAV files of the same samples. All were made of our own tones and noise; AIFF and FLAC files by a general-purpose converter, at three
 * efforts: fixed prediction, linear prediction, differences of channels, constant blocks.
 */
import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { AnyReader, parseWholeRecording, RecordingError } from '../../dsp/recording/index.ts';

const file = (name: string): Uint8Array => new Uint8Array(readFileSync(new URL(`files/${name}`, import.meta.url)));
const others = [
  ['stereo24.aiff', 'stereo24.wav', 'AIFF'], ['mono16.aifc', 'mono16.wav', 'AIFF'], ['mono16.flac', 'mono16.wav', 'FLAC'],
  ['stereo24-level0.flac', 'stereo24.wav', 'FLAC'], ['stereo24-level5.flac', 'stereo24.wav', 'FLAC'], ['stereo24-level8.flac', 'stereo24.wav', 'FLAC'],
] as const;

describe.each(others)('%s', (name, wav, container) => {
  const bytes = file(name);
  const expected = parseWholeRecording(file(wav));

  it('holds the samples of the WAV file, at its own rate', () => {
    const { format, channels } = parseWholeRecording(bytes);
    const { encoding, rateHz, channelCount, frameCount } = expected.format;
    expect(format).toMatchObject({ container, encoding, rateHz, channelCount, frameCount });
    expect(channels.map((channel) => Array.from(channel))).toEqual(expected.channels.map((channel) => Array.from(channel)));
  });

  it('is read alike in pieces of 1,000 bytes and blocks of 700 frames', () => {
    const reader = new AnyReader();
    const collected: number[][] = expected.channels.map(() => []);
    const block = expected.channels.map(() => new Float64Array(700));
    for (let at = 0; at < bytes.length; at += 1000) {
      reader.push(bytes.slice(at, at + 1000));
      for (let count = reader.read(block, 0, 700); count > 0; count = reader.read(block, 0, 700)) collected.forEach((channel, k) => channel.push(...block[k]!.subarray(0, count)));
    }
    reader.finish();
    expect(collected).toEqual(expected.channels.map((channel) => Array.from(channel)));
  });

  it('is refused with a sentence where it is cut at any 1,000th byte', () => {
    for (let length = 0; length < bytes.length - 1; length += 1000) {
      let message = 'no error';
      try {
        parseWholeRecording(bytes.subarray(0, length));
      } catch (error) {
        if (!(error instanceof RecordingError)) throw error;
        ({ message } = error);
      }
      expect(message).toMatch(/expected .*(the file ends|got)/);
    }
  });

  it('never fails with anything but a RecordingError, however it is damaged', () => {
    fc.assert(fc.property(fc.array(fc.tuple(fc.nat(bytes.length - 1), fc.nat(255)), { minLength: 1, maxLength: 5 }), (edits) => {
      const damaged = bytes.slice();
      for (const [at, value] of edits) damaged[at] = value;
      try {
        parseWholeRecording(damaged);
      } catch (error) {
        if (!(error instanceof RecordingError)) throw error;
      }
    }), { seed: 20261126, numRuns: 60 });
  });
});

describe('a damaged FLAC file', () => {
  it('is told by its checksums, with the frame’s place', () => {
    const bytes = file('stereo24-level5.flac');
    for (const at of [9000, 14_000, 24_000]) {
      const damaged = bytes.slice();
      damaged[at] = damaged[at]! ^ 0x10;
      expect(() => parseWholeRecording(damaged)).toThrow(/^FLAC frame at byte \d+: expected .*; the file is damaged$/);
    }
  });
});

describe('what AIFF files may not hold', () => {
  const edited = (at: number, ...values: number[]): Uint8Array => {
    const bytes = file('mono16.aifc');
    bytes.set(values, at);
    return bytes;
  };

  it.each([
    [0x20, [0, 3], 'COMM chunk: channels: expected 1 or 2, got 3'],
    [0x26, [0, 8], 'COMM chunk: bits per sample: expected 9 to 32, got 8'],
    [0x32, [0x75, 0x6c, 0x61, 0x77], 'COMM chunk: compression: expected NONE, twos, sowt, fl32 or fl64, got "ulaw"'],
    [0x08, [0x38, 0x53, 0x56, 0x58], 'header: expected "AIFF" or "AIFC" after "FORM", got "8SVX"'],
  ] as const)('byte %i as %j', (at, values, sentence) => {
    expect(() => parseWholeRecording(edited(at, ...values))).toThrow(sentence);
  });

  it('reads samples in the other byte order', () => {
    const turned = edited(0x32, 0x73, 0x6f, 0x77, 0x74);
    const straight = parseWholeRecording(file('mono16.aifc')).channels[0]!;
    const swapped = parseWholeRecording(turned).channels[0]!;
    const code = (value: number): number => Math.round(value * 32_768) & 0xffff;
    straight.forEach((value, n) => expect(code(swapped[n]!)).toBe(((code(value) & 0xff) << 8) | (code(value) >> 8)));
  });
});
