import { describe, expect, it } from 'vitest';
import { SeededRandom, WINDOW_TERMS, type WindowName } from '../../../dsp/math/index.ts';
import { powerSpectrum } from '../../../dsp/measure/tones/index.ts';
import { check, expectWithin, expectedNumbers, numberInput, numbersInput } from '../../reference/checks.ts';

const published: [WindowName, string][] = [
  ['rectangular', 'WIN-rect'], ['hann', 'WIN-hann'], ['blackmanHarris', 'WIN-blackman-harris-4'], ['nuttall', 'WIN-nuttall4c'], ['flatTop5', 'WIN-flattop-SFT5M'], ['flatTop90', 'WIN-flattop-HFT90D'],
];

describe('power by frequency', () => {
  it.each(published)('through the window %s, %s: noise bandwidth from a tone on a line, loss from one half a line off', (name, id) => {
    const entry = check(id);
    expect([...WINDOW_TERMS[name]]).toEqual(numbersInput(entry, 'cosine_terms'));
    const size = numberInput(entry, 'N');
    const line = 512;
    const toneAt = (lines: number): { readonly spectrum: ReturnType<typeof powerSpectrum>; readonly db: number } => {
      const samples = Float64Array.from({ length: size }, (_, i) => Math.SQRT2 * Math.cos((2 * Math.PI * lines * i) / size + 0.7));
      const spectrum = powerSpectrum({ samples, rateHz: size, repeats: false }, name);
      return { spectrum, db: 10 * Math.log10(spectrum.power[line]!) };
    };
    const on = toneAt(line);
    const [bandwidth, halfOff] = expectedNumbers(entry);
    // The tone's mean square is 1: its line holds 1/bandwidth of it.
    expectWithin({ ...entry, expected: bandwidth! }, 1 / on.spectrum.power[line]!);
    expectWithin({ ...entry, expected: bandwidth! }, on.spectrum.noiseBandwidthLines);
    // 0.01 dB: the mirror image of the tone leaks in, most of all without a window.
    expectWithin({ ...entry, expected: halfOff! }, toneAt(line + 0.5).db - on.db, { type: 'abs', value: 0.01 });
    expect(on.spectrum.spreadLines).toBe(WINDOW_TERMS[name].length - 1);
  });

  it('adds up to the mean square: of whole periods exactly, of noise as it is', () => {
    const random = new SeededRandom(20261126);
    const samples = Float64Array.from({ length: 65_536 }, () => 0.3 + random.nextGaussian());
    const meanSquare = samples.reduce((sum, x) => sum + x * x, 0) / samples.length;
    const sumOf = (repeats: boolean, part: Float64Array): number => powerSpectrum({ samples: part, rateHz: 1, repeats }).power.reduce((sum, each) => sum + each, 0);
    expect(Math.abs(sumOf(true, samples) / meanSquare - 1) <= 1e-12).toBe(true);
    // One window of 65,536 samples: 1 % of noise.
    expect(Math.abs(sumOf(false, samples) / meanSquare - 1) <= 0.02).toBe(true);
  });

  it('repeats periods that are no power of two until a window is full', () => {
    const samples = Float64Array.from({ length: 1000 }, (_, i) => Math.cos((2 * Math.PI * 50 * i) / 1000));
    const { power, spacingHz } = powerSpectrum({ samples, rateHz: 48_000, repeats: true });
    expect(spacingHz).toBe(48_000 / 65_536);
    const strongest = power.indexOf(power.reduce((most, each) => Math.max(most, each), 0));
    expect(Math.abs(strongest * spacingHz - 2400) <= spacingHz).toBe(true);
    expect(Math.abs(power.reduce((sum, each) => sum + each, 0) - 0.5) <= 1e-3).toBe(true);
  });
});
