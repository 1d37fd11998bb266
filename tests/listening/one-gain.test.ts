import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { oneGain } from '../../dsp/listening/index.ts';

describe('one gain for several excerpts', () => {
  it('of one excerpt is its own match', () => {
    expect(oneGain([{ inGainDb: -1.84, outGainDb: 0 }])).toEqual({ inGainDb: -1.84, outGainDb: 0, residualsDb: [0], worst: { index: 0, residualDb: 0 } });
    expect(oneGain([{ inGainDb: 0, outGainDb: -3 }])).toMatchObject({ inGainDb: 0, outGainDb: -3, residualsDb: [0] });
  });

  it('stands half way between those that need most and least, and says what each is left with', () => {
    const { inGainDb, outGainDb, residualsDb, worst } = oneGain([{ inGainDb: -2, outGainDb: 0 }, { inGainDb: -2.1, outGainDb: 0 }, { inGainDb: -2.3, outGainDb: 0 }]);
    expect(inGainDb).toBeCloseTo(-2.15, 12);
    expect(outGainDb).toBe(0);
    // The first needs 0.15 dB less turning down, so it is left 0.15 dB too quiet in circuit.
    expect(residualsDb.map((residual) => Math.round(1e9 * residual) / 1e9)).toEqual([-0.15, -0.05, 0.15]);
    expect(Math.abs(worst.residualDb)).toBeCloseTo(0.15, 12);
  });

  it('turns down, never up, also where excerpts need it either way', () => {
    const { inGainDb, outGainDb } = oneGain([{ inGainDb: 0, outGainDb: -0.1 }, { inGainDb: -0.02, outGainDb: 0 }]);
    expect(inGainDb).toBe(0);
    expect(outGainDb).toBeCloseTo(-0.04, 12);
  });

  it('leaves a worst that no other gain betters', () => {
    fc.assert(fc.property(fc.array(fc.double({ min: -12, max: 12, noNaN: true }), { minLength: 1, maxLength: 8 }), fc.double({ min: -1, max: 1, noNaN: true }), (needed, away) => {
      const { inGainDb, outGainDb, residualsDb, worst } = oneGain(needed.map((gainDb) => ({ inGainDb: Math.min(0, gainDb), outGainDb: Math.min(0, -gainDb) })));
      const largest = (relativeDb: number) => Math.max(...needed.map((gainDb) => Math.abs(relativeDb - gainDb)));
      expect(Math.abs(worst.residualDb)).toBe(Math.max(...residualsDb.map((residual) => Math.abs(residual))));
      expect(!(largest(inGainDb - outGainDb) <= Math.abs(worst.residualDb) + 1e-12)).toBe(false);
      expect(!(largest(inGainDb - outGainDb + away) >= Math.abs(worst.residualDb) - 1e-12)).toBe(false);
    }), { seed: 20261126, numRuns: 200 });
  });

  it('refuses none', () => {
    expect(() => oneGain([])).toThrow('excerpts: expected at least 1, got 0');
  });
});
