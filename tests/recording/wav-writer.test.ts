import { describe, expect, it } from 'vitest';
import { encodeWavHeader, encodeWholeWav, paddingBytes, parseWavHeader, RecordingError, sampleEncodings } from '../../dsp/recording/index.ts';
import { chunk, formatBody, riff, u32 } from './wav-files.ts';

const noCounts = () => ({ clippedSamples: 0, notNumberSamples: 0 });

describe('writing', () => {
  it('writes PCM with a plain format chunk and a padded odd end', () => {
    const file = encodeWholeWav({ encoding: 'pcm24', channelCount: 1, rateHz: 48_000 }, [Float64Array.of(0.5)], noCounts());
    expect([...file]).toEqual([...riff([chunk('fmt ', formatBody({ tag: 1, channels: 1, rateHz: 48_000, bits: 24 })), chunk('data', [0, 0, 0x40])])]);
    expect(paddingBytes({ encoding: 'pcm24', channelCount: 1, rateHz: 48_000 }, 1)).toBe(1);
    expect(paddingBytes({ encoding: 'pcm24', channelCount: 2, rateHz: 48_000 }, 1)).toBe(0);
  });

  it('writes floats with a fact chunk', () => {
    const file = encodeWholeWav({ encoding: 'float32', channelCount: 2, rateHz: 96_000 }, [Float64Array.of(1), Float64Array.of(-2)], noCounts());
    const format = formatBody({ tag: 3, channels: 2, rateHz: 96_000, bits: 32, extra: [0, 0] });
    expect([...file]).toEqual([...riff([chunk('fmt ', format), chunk('fact', u32(1)), chunk('data', [0, 0, 0x80, 0x3f, 0, 0, 0, 0xc0])])]);
  });

  it('goes over to RF64 exactly where 32-bit sizes end, and reads itself back', () => {
    const samples = { encoding: 'float64', channelCount: 2, rateHz: 384_000 } as const;
    // 58 bytes of header, of which the size does not count 8: the last plain file has 2^32 − 2 − 50 bytes of samples at most.
    const lastPlain = Math.floor((0xffff_fffe - 50) / 16);
    expect(String.fromCharCode(...encodeWavHeader(samples, lastPlain).subarray(0, 4))).toBe('RIFF');
    for (const frameCount of [lastPlain, lastPlain + 1, 384_000 * 3_600]) {
      const header = encodeWavHeader(samples, frameCount);
      expect(parseWavHeader(header)).toEqual({ kind: 'format', format: { container: 'WAV', ...samples, frameCount, dataOffsetBytes: header.length } });
    }
    expect(String.fromCharCode(...encodeWavHeader(samples, lastPlain + 1).subarray(0, 4))).toBe('RF64');
  });

  it.each(sampleEncodings)('%s: the header alone parses', (encoding) => {
    const samples = { encoding, channelCount: 1, rateHz: 8_000 } as const;
    expect(parseWavHeader(encodeWavHeader(samples, 3))).toMatchObject({ kind: 'format', format: { ...samples, frameCount: 3 } });
  });

  it('refuses what it cannot write', () => {
    const samples = { encoding: 'pcm16', channelCount: 2, rateHz: 44_100.5 } as const;
    expect(() => encodeWavHeader(samples, 1)).toThrow(RecordingError);
    expect(() => encodeWavHeader({ ...samples, rateHz: 48_000 }, 1.5)).toThrow('expected a whole number ≥ 0, got 1.5');
    expect(() => encodeWholeWav({ ...samples, rateHz: 48_000 }, [new Float64Array(1)], noCounts())).toThrow('channels: expected 2, got 1');
    expect(() => encodeWholeWav({ ...samples, rateHz: 48_000 }, [new Float64Array(1), new Float64Array(2)], noCounts())).toThrow('expected 1 frames in each, got 2');
  });
});
