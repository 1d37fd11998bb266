import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { decodeSamples, encodeSamples, sampleBytes, type EncodeCounts, type SampleEncoding } from '../../dsp/recording/index.ts';

const rate = { channelCount: 1, rateHz: 48_000 } as const;
const noCounts = (): EncodeCounts => ({ clippedSamples: 0, notNumberSamples: 0 });

function encode(encoding: SampleEncoding, values: readonly number[]): { bytes: Uint8Array; counts: EncodeCounts } {
  const counts = noCounts();
  const bytes = new Uint8Array(values.length * sampleBytes(encoding));
  encodeSamples({ ...rate, encoding }, [Float64Array.from(values)], 0, values.length, bytes, 0, counts);
  return { bytes, counts };
}

function decode(encoding: SampleEncoding, bytes: Uint8Array): Float64Array {
  const out = new Float64Array(bytes.length / sampleBytes(encoding));
  decodeSamples({ ...rate, encoding }, bytes, 0, [out], 0, out.length);
  return out;
}

// Little-endian two's complement and IEEE 754 bytes, worked out by hand.
const knownBytes: [SampleEncoding, number, number[]][] = [
  ['pcm16', 0.5, [0x00, 0x40]],
  ['pcm16', -1, [0x00, 0x80]],
  ['pcm16', -1 / 32_768, [0xff, 0xff]],
  ['pcm24', 0.5, [0x00, 0x00, 0x40]],
  ['pcm24', -1, [0x00, 0x00, 0x80]],
  ['pcm24', -1 / 8_388_608, [0xff, 0xff, 0xff]],
  ['pcm24', 0x123456 / 8_388_608, [0x56, 0x34, 0x12]],
  ['pcm32', 0.5, [0x00, 0x00, 0x00, 0x40]],
  ['pcm32', -1, [0x00, 0x00, 0x00, 0x80]],
  ['float32', 1, [0x00, 0x00, 0x80, 0x3f]],
  ['float32', -2, [0x00, 0x00, 0x00, 0xc0]],
  ['float64', 1, [0, 0, 0, 0, 0, 0, 0xf0, 0x3f]],
];

describe('samples in bytes', () => {
  it.each(knownBytes)('%s %d has its known bytes', (encoding, value, bytes) => {
    expect([...encode(encoding, [value]).bytes]).toEqual(bytes);
    expect([...decode(encoding, Uint8Array.from(bytes))]).toEqual([value]);
  });

  it.each([['pcm16', 2], ['pcm24', 3], ['pcm32', 4]] as const)('%s: any bytes survive decoding and encoding', (encoding, width) => {
    fc.assert(fc.property(fc.uint8Array({ minLength: width, maxLength: 12 * width }), (random) => {
      const bytes = random.slice(0, random.length - (random.length % width));
      const values = decode(encoding, bytes);
      const again = encode(encoding, [...values]);
      expect(again.counts).toEqual(noCounts());
      expect([...again.bytes]).toEqual([...bytes]);
    }), { seed: 20261125, numRuns: 300 });
  });

  it('float32 and float64 give back singles and doubles, with −0 as +0', () => {
    fc.assert(fc.property(fc.array(fc.double({ noNaN: true }), { maxLength: 20 }), (values) => {
      const doubles = decode('float64', encode('float64', values).bytes);
      const singles = decode('float32', encode('float32', values).bytes);
      values.forEach((value, i) => {
        expect(Object.is(doubles[i], value + 0)).toBe(true);
        expect(singles[i]! + 0).toBe(Math.fround(value) + 0);
      });
    }), { seed: 20261125, numRuns: 300 });
    expect(Object.is(decode('float32', encode('float32', [-0]).bytes)[0], 0)).toBe(true);
  });

  it('PCM is never more than half a code away inside its range', () => {
    fc.assert(fc.property(fc.double({ min: -1, max: 0.9999, noNaN: true }), (value) => {
      for (const [encoding, scale] of [['pcm16', 32_768], ['pcm24', 8_388_608], ['pcm32', 2_147_483_648]] as const) {
        const error = Math.abs(decode(encoding, encode(encoding, [value]).bytes)[0]! - value);
        if (!(error <= 0.5 / scale)) throw new Error(`${encoding} ${value}: error ${error}, limit ${0.5 / scale}`);
      }
    }), { seed: 20261125, numRuns: 500 });
  });

  it('rounds halves away from zero and what lies just below them towards it', () => {
    const codes = [0.5, -0.5, 1.5, -1.5, 0.499_999_999_999_999_94, 2.4];
    const values = decode('pcm16', encode('pcm16', codes.map((code) => code / 32_768)).bytes);
    expect([...values].map((value) => value * 32_768)).toEqual([1, -1, 2, -2, 0, 2]);
  });

  it('counts what is clipped and what is not a number', () => {
    const { bytes, counts } = encode('pcm24', [1, 8_388_607 / 8_388_608, -1, -1.1, Infinity, -Infinity, NaN, 0.1]);
    expect(counts).toEqual({ clippedSamples: 4, notNumberSamples: 1 });
    const codes = [...decode('pcm24', bytes)].map((value) => value * 8_388_608);
    expect(codes.slice(0, 7)).toEqual([8_388_607, 8_388_607, -8_388_608, -8_388_608, 8_388_607, -8_388_608, 0]);
    expect(encode('float32', [NaN, 1e300, 4]).counts).toEqual({ clippedSamples: 1, notNumberSamples: 1 });
    expect([...encode('float64', [NaN]).bytes]).toEqual([0, 0, 0, 0, 0, 0, 0, 0]);
  });
});
