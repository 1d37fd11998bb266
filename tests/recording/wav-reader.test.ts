import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  encodeWholeWav, parseWavHeader, parseWholeRecording, RecordingError, sampleEncodings, AnyReader, type SampleEncoding, type WavSamples,
} from '../../dsp/recording/index.ts';
import { ascii, chunk, extensibleTail, formatBody, riff, u16, u32 } from './wav-files.ts';

const pcm16Mono = formatBody({ tag: 1, channels: 1, rateHz: 48_000, bits: 16 });
const fourSamples = [...u16(0x4000), ...u16(0xc000), ...u16(1), ...u16(0)];
const fourValues = [0.5, -0.5, 1 / 32_768, 0];

const messageOf = (action: () => unknown): string => {
  try {
    action();
  } catch (error) {
    if (error instanceof RecordingError) return error.message;
    throw error;
  }
  return 'no error';
};

/** Reads `file` in pieces ending at `cuts`, `readFrames` at a time, reusing one buffer as a program reading a disk does. */
function readInPieces(file: Uint8Array, cuts: readonly number[], readFrames: number): number[][] {
  const reader = new AnyReader();
  const buffer = new Uint8Array(file.length);
  const collected: number[][] = [[], []];
  const block = [new Float64Array(readFrames), new Float64Array(readFrames)];
  const ends = [...cuts.filter((cut) => cut <= file.length).sort((a, b) => a - b), file.length];
  let start = 0;
  for (const end of ends) {
    buffer.set(file.subarray(start, end));
    reader.push(buffer.subarray(0, end - start));
    for (let count = -1; count !== 0;) {
      count = reader.read(block, 0, readFrames);
      for (let channel = 0; channel < (reader.format?.channelCount ?? 0); channel += 1) collected[channel]!.push(...block[channel]!.subarray(0, count));
    }
    buffer.fill(0xa5);
    start = end;
  }
  return collected.slice(0, reader.finish().channelCount);
}

const encodingGen = fc.constantFrom<SampleEncoding>(...sampleEncodings);
const fileGen = fc.record({
  encoding: encodingGen,
  channelCount: fc.constantFrom<1 | 2>(1, 2),
  rateHz: fc.integer({ min: 8_000, max: 384_000 }),
  frameCount: fc.integer({ min: 0, max: 40 }),
  seed: fc.integer({ min: 1, max: 1e6 }),
});

function makeFile({ frameCount, seed, ...samples }: WavSamples & { frameCount: number; seed: number }): { file: Uint8Array; channels: Float64Array[] } {
  const channels = Array.from({ length: samples.channelCount }, (_, c) =>
    Float64Array.from({ length: frameCount }, (_unused, i) => (((seed * (2 * c + 3) * (i + 7)) % 65_535) - 32_767) / 32_768));
  return { file: encodeWholeWav(samples, channels, { clippedSamples: 0, notNumberSamples: 0 }), channels };
}

describe('reading what the writer wrote', () => {
  it('gives back every encoding, channel count and rate, whole and cut anywhere', () => {
    fc.assert(fc.property(fileGen, fc.array(fc.nat(400), { maxLength: 6 }), fc.integer({ min: 1, max: 9 }), (spec, cuts, readFrames) => {
      const { file, channels } = makeFile(spec);
      const whole = parseWholeRecording(file);
      expect(whole.format).toMatchObject({ encoding: spec.encoding, channelCount: spec.channelCount, rateHz: spec.rateHz, frameCount: spec.frameCount });
      const expected = channels.map((channel) => [...channel]);
      expect(whole.channels.map((channel) => [...channel])).toEqual(expected);
      expect(readInPieces(file, cuts, readFrames)).toEqual(expected);
    }), { seed: 20261125, numRuns: 300 });
  });

  it('reads a file cut at every one of its bytes, and byte by byte', () => {
    for (const encoding of sampleEncodings) {
      const { file, channels } = makeFile({ encoding, channelCount: 2, rateHz: 44_100, frameCount: 5, seed: 17 });
      const expected = channels.map((channel) => [...channel]);
      for (let cut = 0; cut <= file.length; cut += 1) expect(readInPieces(file, [cut], 3)).toEqual(expected);
      expect(readInPieces(file, Array.from({ length: file.length }, (_, i) => i), 1)).toEqual(expected);
    }
  });

  it('refuses a file cut short at any byte, with one sentence', () => {
    const { file } = makeFile({ encoding: 'pcm24', channelCount: 1, rateHz: 48_000, frameCount: 4, seed: 3 });
    for (let length = 0; length < file.length; length += 1) {
      expect(messageOf(() => parseWholeRecording(file.subarray(0, length))), `${length} bytes`).toMatch(/expected .*the file ends/);
      expect(messageOf(() => readInPieces(file.subarray(0, length), [5, 30], 2)), `${length} bytes`).toMatch(/expected .*the file ends/);
    }
  });
});

describe('files of other makers', () => {
  it('steps over unknown chunks, odd sizes padded, before and after the samples', () => {
    const file = riff([
      chunk('LIST', ascii('odd')), chunk('junk', new Array(70_001).fill(7)), chunk('fmt ', pcm16Mono), chunk('cue ', [1]),
      chunk('data', fourSamples), chunk('id3 ', ascii('tail?')),
    ]);
    expect([...parseWholeRecording(file).channels[0]!]).toEqual(fourValues);
    expect(readInPieces(file, [13, 70_000, 70_040, 70_063], 3)).toEqual([fourValues]);
  });

  it('reads WAVE_FORMAT_EXTENSIBLE, PCM and float, with fewer valid bits than the container', () => {
    const pcm = formatBody({ tag: 0xfffe, channels: 2, rateHz: 96_000, bits: 24, extra: extensibleTail(1, 20) });
    const file = riff([chunk('fmt ', pcm), chunk('data', [0, 0, 0x40, 0, 0, 0xc0])]);
    expect(parseWholeRecording(file)).toMatchObject({ format: { encoding: 'pcm24', channelCount: 2, rateHz: 96_000, frameCount: 1 } });
    expect(parseWholeRecording(file).channels.map((channel) => channel[0])).toEqual([0.5, -0.5]);
    const float = formatBody({ tag: 0xfffe, channels: 1, rateHz: 384_000, bits: 64, extra: extensibleTail(3, 64) });
    expect([...parseWholeRecording(riff([chunk('fmt ', float), chunk('data', [0, 0, 0, 0, 0, 0, 0xf0, 0xbf])])).channels[0]!]).toEqual([-1]);
  });

  it('reads to the end of a file whose data size was left open, and RF64 by its ds64', () => {
    const open = riff([chunk('fmt ', pcm16Mono), chunk('data', fourSamples, 0xffff_ffff)]);
    expect(parseWholeRecording(open).format.frameCount).toBe(null);
    expect([...parseWholeRecording(open).channels[0]!]).toEqual(fourValues);
    expect(messageOf(() => parseWholeRecording(open.subarray(0, open.length - 1)))).toBe('data chunk: expected whole frames of 2 bytes, the file ends 1 bytes into one');
    const sizes = [...u32(0), ...u32(0), ...u32(8), ...u32(0), ...u32(4), ...u32(0), ...u32(0)];
    for (const name of ['RF64', 'BW64']) {
      const long = riff([chunk('ds64', sizes), chunk('fmt ', pcm16Mono), chunk('data', fourSamples, 0xffff_ffff), chunk('LIST', [1, 2])], name);
      expect([...parseWholeRecording(long).channels[0]!]).toEqual(fourValues);
    }
    const huge = [...u32(0), ...u32(0), ...u32(6), ...u32(3), ...u32(0), ...u32(0), ...u32(0)];
    const header = parseWavHeader(riff([chunk('ds64', huge), chunk('fmt ', pcm16Mono), chunk('data', [], 0xffff_ffff)], 'RF64'));
    expect(header).toMatchObject({ kind: 'format', format: { frameCount: (3 * 2 ** 32 + 6) / 2 } });
  });

  it('asks for more while a header is not complete', () => {
    const file = riff([chunk('fmt ', pcm16Mono), chunk('data', fourSamples)]);
    expect(parseWavHeader(file.subarray(0, 43))).toEqual({ kind: 'need-more' });
    expect(parseWavHeader(file.subarray(0, 44))).toMatchObject({ kind: 'format', format: { dataOffsetBytes: 44, frameCount: 4 } });
  });
});

const withFormat = (fields: Parameters<typeof formatBody>[0]): Uint8Array => riff([chunk('fmt ', formatBody(fields)), chunk('data', [])]);
const good = { tag: 1, channels: 1, rateHz: 48_000, bits: 16 };
const foreign: [string, Uint8Array, string][] = [
  ['text', Uint8Array.from(ascii('Dear diary, today')), 'header: expected a WAV, AIFF or FLAC file, got one that begins with "Dear"'],
  ['big-endian', riff([], 'RIFX'), 'header: expected little-endian "RIFF", got big-endian "RIFX"'],
  ['another RIFF', riff([], 'RIFF', 'AVI '), 'header: expected "WAVE" after "RIFF", got "AVI "'],
  ['unprintable', Uint8Array.from([0, 255, 65, 66, 0, 0, 0, 0, 0, 0, 0, 0]), 'header: expected a WAV, AIFF or FLAC file, got one that begins with "??AB"'],
  ['8-bit', withFormat({ ...good, bits: 8 }), 'fmt chunk: bits per PCM sample: expected 16, 24 or 32, got 8'],
  ['16-bit float', withFormat({ ...good, tag: 3 }), 'fmt chunk: bits per floating-point sample: expected 32 or 64, got 16'],
  ['compressed', withFormat({ ...good, tag: 0x55 }), 'fmt chunk: format tag: expected 1 (PCM), 3 (float) or 0xFFFE (extensible), got 0x0055'],
  ['six channels', withFormat({ ...good, channels: 6 }), 'fmt chunk: channels: expected 1 or 2, got 6'],
  ['too slow', withFormat({ ...good, rateHz: 7_999 }), 'fmt chunk: sample rate: expected 8000 to 384000 Hz, got 7999 Hz'],
  ['too fast', withFormat({ ...good, rateHz: 384_001 }), 'fmt chunk: sample rate: expected 8000 to 384000 Hz, got 384001 Hz'],
  ['odd frames', withFormat({ ...good, blockBytes: 4 }), 'fmt chunk: bytes per frame: expected 2, got 4'],
  ['short format', riff([chunk('fmt ', [1, 0, 1, 0])]), 'fmt chunk: size: expected at least 16 bytes, got 4'],
  ['empty format', riff([chunk('fmt ', [])]), 'fmt chunk: size: expected at least 16 bytes, got 0'],
  ['short extensible', withFormat({ ...good, tag: 0xfffe }), 'fmt chunk: size of an extensible format: expected at least 40 bytes, got 16'],
  ['too many valid bits', withFormat({ ...good, tag: 0xfffe, extra: extensibleTail(1, 17) }), 'fmt chunk: valid bits per sample: expected at most 16, got 17'],
  ['other sub-format', withFormat({ ...good, tag: 0xfffe, extra: [...extensibleTail(1, 16).slice(0, -1), 0] }), 'fmt chunk: extensible sub-format: expected PCM or float, got another'],
  ['no format', riff([chunk('data', [1, 2])]), 'data chunk: expected a "fmt " chunk before it, got none'],
  ['half a frame', riff([chunk('fmt ', pcm16Mono), chunk('data', [1, 2, 3])]), 'data chunk: expected whole frames of 2 bytes, got 3 bytes'],
  ['RF64 without ds64', riff([chunk('fmt ', pcm16Mono), chunk('data', [], 0xffff_ffff)], 'RF64'), 'data chunk: expected its size in a "ds64" chunk, got none'],
  ['short ds64', riff([chunk('ds64', [1, 2])], 'RF64'), 'ds64 chunk: expected at least 16 bytes, got 2'],
  ['monstrous format', riff([chunk('fmt ', [], 70_000)]), '"fmt " chunk: expected at most 65536 bytes, got 70000'],
  ['open chunk', riff([chunk('LIST', [], 0xffff_ffff)]), '"LIST" chunk at byte 12: expected a size, got 0xFFFFFFFF'],
  ['no samples', riff([chunk('fmt ', pcm16Mono)]), 'byte 36: expected a "data" chunk, the file ends here'],
];

describe('foreign files', () => {
  it.each(foreign)('%s', (_name, file, message) => {
    expect(messageOf(() => parseWholeRecording(file))).toBe(message);
    expect(messageOf(() => readInPieces(file, [3, 20], 4))).toBe(message);
  });

  it('never fails with anything but a RecordingError', () => {
    const file = riff([chunk('fmt ', pcm16Mono), chunk('data', fourSamples)]);
    fc.assert(fc.property(fc.array(fc.tuple(fc.nat(file.length - 1), fc.nat(255)), { maxLength: 6 }), (edits) => {
      const damaged = file.slice();
      for (const [at, value] of edits) damaged[at] = value;
      messageOf(() => parseWholeRecording(damaged));
    }), { seed: 20261125, numRuns: 2_000 });
  });
});
