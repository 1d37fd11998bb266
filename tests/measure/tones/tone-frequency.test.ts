import { describe, expect, it } from 'vitest';
import { toneFrequency } from '../../../dsp/measure/tones/index.ts';

const rateHz = 48_000;
const tones = (...parts: readonly (readonly [hz: number, peak: number])[]): Float64Array =>
  Float64Array.from({ length: 4 * rateHz }, (_, i) => parts.reduce((sum, [hz, peak], k) => sum + peak * Math.cos((2 * Math.PI * hz * i) / rateHz + k), 0));

describe('the frequency of a recorded tone', () => {
  it.each([[60, 60.003], [997, 997.1], [1000, 999.2], [15_000, 15_001.5], [19_000, 19_000.57]])('nominally %d Hz, in fact %d: within a millionth', (nominal, hz) => {
    expect(Math.abs(toneFrequency(tones([hz, 0.5], [3 * hz, 1e-3], [7000.3, 0.1]), rateHz, nominal) / hz - 1) <= 1e-6).toBe(true);
  });

  it('is the nominal one where there is no such tone, or too little of it', () => {
    expect(toneFrequency(tones([1000, 1]), rateHz, 250)).toBe(250);
    expect(toneFrequency(tones([1001, 1]).slice(0, 1000), rateHz, 1000)).toBe(1000);
  });
});
