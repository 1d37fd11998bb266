/** Headers made by hand after the standards that `compressed-rate.ts` names. */
import { describe, expect, it } from 'vitest';
import { compressedRateHz } from '../../dsp/recording/index.ts';

const none = new Uint8Array(0);
const letters = (text: string): number[] => Array.from(text, (letter) => letter.charCodeAt(0));
const bytes = (...parts: readonly (readonly number[])[]): Uint8Array => Uint8Array.from(parts.flat());
const rateOf = (first: Uint8Array, last: Uint8Array = none) => compressedRateHz(first, last);

describe('the rate a compressed file states', () => {
  it.each([[0xfb, 0x90, 44_100], [0xfb, 0x94, 48_000], [0xfb, 0x98, 32_000], [0xf3, 0x90, 22_050], [0xe3, 0x94, 12_000]])('frame header ff %i %i: %i Hz', (second, third, rateHz) => {
    expect(rateOf(bytes([0xff, second, third, 0, 0, 0, 0, 0]))).toBe(rateHz);
    // Behind a tag whose content looks like a header.
    expect(rateOf(bytes(letters('ID3'), [4, 0, 0, 0, 0, 0, 4, 0xff, 0xfb, 0x98, 0], [0xff, second, third, 0, 0, 0, 0, 0]))).toBe(rateHz);
  });
  it('ADTS, where it is sure and a second header follows', () => {
    const header = (rate: number) => [0xff, 0xf1, 0x40 | (rate << 2), 0x80, 1, 0x1f, 0xfc, 0];
    expect(rateOf(bytes(header(4), header(4)))).toBe(44_100);
    // 24 kHz may be decoded to 48.
    expect(rateOf(bytes(header(6), header(6)))).toBeNull();
    expect(rateOf(bytes(header(4), [0, 0, 0, 0]))).toBeNull();
  });
  it('Vorbis and Opus in Ogg', () => {
    expect(rateOf(bytes(letters('OggS'), new Array<number>(24).fill(0), [1], letters('vorbis'), [0, 0, 0, 0, 2, 0x44, 0xac, 0, 0]))).toBe(44_100);
    expect(rateOf(bytes(letters('OggS'), new Array<number>(24).fill(0), letters('OpusHead'), [1, 2, 0, 0, 0x44, 0xac, 0, 0]))).toBe(48_000);
  });
  it('of Vorbis only one that a recording can have', () => {
    const stated = (...rate: number[]) => rateOf(bytes(letters('OggS'), new Array<number>(24).fill(0), [1], letters('vorbis'), [0, 0, 0, 0, 2], rate, [0, 0]));
    expect(stated(0, 0, 0, 0)).toBeNull();
    // 4 000 000 000 Hz
    expect(stated(0, 0x28, 0x6b, 0xee)).toBeNull();
    expect(stated(0x40, 0x1f, 0, 0)).toBe(8000);
  });
  it('a sample entry at either end', () => {
    const entry = bytes(letters('mp4a'), new Array<number>(24).fill(0), [0xbb, 0x80, 0, 0]);
    const head = bytes([0, 0, 0, 32], letters('ftypM4A '));
    expect(rateOf(bytes([...head], [...entry]))).toBe(48_000);
    expect(rateOf(head, entry)).toBe(48_000);
  });
  it('Opus and Vorbis in WebM, whatever stands there besides', () => {
    const head = bytes([0x1a, 0x45, 0xdf, 0xa3, 0x9f, 0xff, 0xe3, 0x94, 0, 0]);
    expect(rateOf(bytes([...head], letters('A_OPUS'), [0xff, 0xfb, 0x90, 0]))).toBe(48_000);
    expect(rateOf(bytes([...head], letters('A_VORBIS'), [1], letters('vorbis'), [0, 0, 0, 0, 2, 0x44, 0xac, 0, 0]))).toBe(44_100);
    expect(rateOf(bytes([...head], letters('A_AAC'), [0xff, 0xfb, 0x90, 0]))).toBeNull();
  });
  it('is none that bytes in the middle would spell', () => {
    expect(rateOf(bytes(letters('something else'), [0xff, 0xfb, 0x90, 0, 0, 0, 0, 0]))).toBeNull();
    expect(rateOf(bytes([0, 0, 0, 0xff, 0xfb, 0x90, 0, 0, 0, 0, 0])), 'behind zeros').toBe(44_100);
  });
  it('is not known of anything else', () => {
    expect(rateOf(none)).toBeNull();
    expect(rateOf(bytes(letters('a letter, not a sound')))).toBeNull();
    expect(rateOf(new Uint8Array(64).fill(0xff))).toBeNull();
  });
});
