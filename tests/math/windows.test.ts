import { describe, expect, it } from 'vitest';
import {
  coherentGain, cosineWindow, kaiserAttenuationDb, kaiserBeta, kaiserTaps, kaiserWindow, nearestOddCycles, noiseBandwidthBins, offsetGainDb,
  RealFft, sin, WINDOW_TERMS,
} from '../../dsp/math/index.ts';
import { check, checksOf, expectWithin, numberInput, numbersInput } from '../reference/checks.ts';

describe('windows', () => {
  it.each(checksOf('WIN-').map((entry) => [entry.id, entry] as const))('%s: noise bandwidth, half a bin off, largest error, coherent gain', (_id, entry) => {
    const window = cosineWindow(numbersInput(entry, 'cosine_terms'), numberInput(entry, 'N'));
    let largest = 0;
    for (let step = 0; step <= 50; step++) {
      const gain = offsetGainDb(window, step / 100);
      if (!(Math.abs(gain) <= Math.abs(largest))) largest = gain;
    }
    expectWithin(entry, [noiseBandwidthBins(window), offsetGainDb(window, 0.5), largest, coherentGain(window)]);
  });

  it('names the terms of the published windows', () => {
    const published: [keyof typeof WINDOW_TERMS, string][] = [['rectangular', 'WIN-rect'], ['hann', 'WIN-hann'], ['blackmanHarris', 'WIN-blackman-harris-4'],
      ['nuttall', 'WIN-nuttall4c'], ['flatTop5', 'WIN-flattop-SFT5M'], ['flatTop90', 'WIN-flattop-HFT90D']];
    for (const [name, id] of published) expect([...WINDOW_TERMS[name]]).toEqual(numbersInput(check(id), 'cosine_terms'));
  });

  it('is symmetric about the middle to the bit, and periodic windows about theirs', () => {
    const symmetric = cosineWindow(WINDOW_TERMS.blackmanHarris, 33, true);
    const periodic = cosineWindow(WINDOW_TERMS.blackmanHarris, 32);
    for (let i = 0; i < 33; i++) expect(symmetric[i]).toBe(symmetric[32 - i]);
    for (let i = 1; i < 32; i++) expect(periodic[i]).toBe(periodic[32 - i]);
    expect(Math.abs(symmetric[16]! - 1) <= 1e-15).toBe(true);
  });

  it('lets a tone between bins leak no more than the Blackman–Harris side lobes, −92 dB (Harris 1978, Table 1)', () => {
    const size = 4096;
    const window = cosineWindow(WINDOW_TERMS.blackmanHarris, size);
    const re = new Float64Array(size / 2 + 1);
    const im = new Float64Array(size / 2 + 1);
    new RealFft(size).forward(window.map((w, n) => w * sin(2 * Math.PI * 500.5 * (n / size))), re, im);
    const level = (k: number): number => 20 * Math.log10(Math.hypot(re[k]!, im[k]!) / (coherentGain(window) * size / 2));
    for (let k = 0; k <= size / 2; k++) if (Math.abs(k - 500.5) > 4) expect(level(k) <= -91.5, `bin ${k}: ${level(k)} dB`).toBe(true);
  });
});

describe('Kaiser window', () => {
  it.each(['KAISER-60dB-0.1', 'KAISER-100dB-0.1', 'KAISER-120dB-0.05'])('%s: taps and β', (id) => {
    const entry = check(id);
    const attenuationDb = numberInput(entry, 'As_dB');
    expectWithin(entry, [kaiserTaps(attenuationDb, Math.PI * numberInput(entry, 'transition_over_nyquist')), kaiserBeta(attenuationDb)]);
  });

  it('KAISER-SCIPY: attenuation of so many taps', () => {
    const entry = check('KAISER-SCIPY');
    expectWithin(entry, kaiserAttenuationDb(numberInput(entry, 'numtaps'), Math.PI * numberInput(entry, 'width')));
  });

  it('is 1 in the middle, symmetric, 1/I0(β) at the ends; refuses small attenuations', () => {
    const window = kaiserWindow(21, 8);
    expect(window[10]).toBe(1);
    // I0(8) = 427.564115721804785 (60-digit arithmetic).
    expect(Math.abs(window[0]! * 427.564115721804785 - 1) <= 5e-15).toBe(true);
    for (let i = 0; i < 21; i++) expect(window[i]).toBe(window[20 - i]);
    expect([...kaiserWindow(1, 8)]).toEqual([1]);
    expect(() => kaiserBeta(50)).toThrow('50');
  });
});

describe('coherent frequencies', () => {
  it.each(['COH-48000-65536', 'COH-44100-32768', 'COH-96000-65536'])('%s', (id) => {
    const entry = check(id);
    const { cycles, frequencyHz } = nearestOddCycles(numberInput(entry, 'wanted_Hz'), numberInput(entry, 'fs'), numberInput(entry, 'N'));
    expectWithin(entry, [cycles, frequencyHz]);
  });

  it('takes the next odd number above where the nearest is even', () => {
    // 3000 · 65536 / 48000 is 4096 exactly.
    expect(nearestOddCycles(3000, 48000, 65536)).toEqual({ cycles: 4097, frequencyHz: 4097 * 48000 / 65536 });
  });

  it('COH-997: whole cycles, and harmonics below half the rate', () => {
    const entry = check('COH-997');
    const rate = numberInput(entry, 'fs');
    const { cycles, frequencyHz } = nearestOddCycles(997, rate, numberInput(entry, 'N'));
    let harmonics = 0;
    while ((harmonics + 1) * frequencyHz < rate / 2) harmonics++;
    expectWithin(entry, [cycles, harmonics]);
  });
});
