// Circuits that oscillate, tip over or never repeat themselves get no harmonics; the same circuits just below their limit do.
import { describe, expect, it } from 'vitest';
import { buildProgram, chooseFrequency, cosineDrive, measureCircuit, solveSteadyState } from '../../dsp/circuit/index.ts';
import type { CircuitMeasurement } from '../../dsp/circuit/index.ts';
import { growthAtRest } from '../../dsp/circuit/rest-growth.ts';
import { crossoverLoop, latchingPair, transconductorPair, unstableOpAmpLoop } from '../support/unstable.ts';
import { expectWithin, rateHz } from './support.ts';

const tone = { frequencyHz: 1000, peakVolts: 0.1, orders: [2, 3] };

function expectNoHarmonics(measured: CircuitMeasurement): number {
  expect(measured.oscillates).toBe(true);
  expect(Object.keys(measured).sort()).toEqual(['oscillates', 'spectralRadius']);
  const { spectralRadius } = measured as { spectralRadius: number };
  expect(spectralRadius).toBeGreaterThanOrEqual(1);
  expect(Number.isFinite(spectralRadius)).toBe(true);
  return spectralRadius;
}

describe('a feedback loop with one pole too many', () => {
  /**
   * Routh and Hurwitz: K/s (1 + s τ1)⁻¹ (1 + s τ2)⁻¹ closed is stable while K < 1/τ1 + 1/τ2. K: half of 30 µA / (51.7 mV · 30 pF), noise gain 2, times 600/(600 + 123) of the
   * divider; τ2 = 1.1 kΩ · 1 nF; τ1 is 102 Ω times the load capacitance (build-out 100 Ω and 23 Ω of the pair beside 600 Ω). So 1.4 nF is the limit.
   */
  it('is measured with half of the load capacitance it bears, and refused with twice that', () => {
    const stable = measureCircuit(buildProgram(unstableOpAmpLoop(0.7e-9), { rateHz }), tone);
    expect(stable.oscillates).toBeUndefined();
    for (const peakVolts of [1e-3, 0.1, 2]) expectNoHarmonics(measureCircuit(buildProgram(unstableOpAmpLoop(2.8e-9), { rateHz }), { ...tone, peakVolts }));
    expectNoHarmonics(measureCircuit(buildProgram(unstableOpAmpLoop(2.8e-9), { rateHz }), { ...tone, frequencyHz: 10_000 }));
  });

  it('is found at the limit that the hand calculation gives, within its neglects: 25 %', () => {
    const grows = (farads: number): boolean => growthAtRest(buildProgram(unstableOpAmpLoop(farads), { rateHz }), 384) > 1;
    expect(grows(1.4e-9 / 1.25)).toBe(false);
    expect(grows(1.4e-9 * 1.25)).toBe(true);
  });
});

describe('a bistable pair', () => {
  it('of transconductors grows as its two equations say', () => {
    // C v1' = −G1 v1 − g v2 and its mirror: the difference grows with s = −(G1 + G2)/2C + √(((G1 − G2)/2C)² + (g/C)²).
    const [ohms, farads, g] = [1500, 100e-9, 1e-3];
    const [g1, g2] = [1 / ohms + 1e-5, 1 / ohms];
    const growth = -(g1 + g2) / (2 * farads) + Math.sqrt(((g1 - g2) / (2 * farads)) ** 2 + (g / farads) ** 2);
    const radius = expectNoHarmonics(measureCircuit(buildProgram(transconductorPair(ohms), { rateHz }), tone));
    // 1e-4: the trapezoidal rule's own share at a growth of 3,300/s and steps of 2.6 µs.
    expectWithin(radius / Math.exp(growth * 1e-3), 1, 1e-4);
    // With less resistance than 1/g it is an amplifier.
    expect(measureCircuit(buildProgram(transconductorPair(900), { rateHz }), tone).oscillates).toBeUndefined();
  });

  it.each([[1e-11, 1], [1e-11, 2], [1e-9, 1], [1e-9, 2], [1e-7, 2]] as const)('of transistors with %d F at %d of its bases is refused, however fast it tips over', (farads, bases) => {
    const program = buildProgram(latchingPair(farads, bases), { rateHz });
    expectNoHarmonics(measureCircuit(program, tone));
    // Backward Euler would hide a growth faster than the step.
    expect(program.backwardEuler).toEqual([]);
  });
});

describe('a loop that is quiet at rest', () => {
  const loop = buildProgram(crossoverLoop(), { rateHz });
  const periodOf = (hz: number, peakVolts: number): { input: Float64Array; cycles: number } => {
    const frequency = chooseFrequency(hz, rateHz);
    return { input: cosineDrive(frequency, peakVolts), cycles: frequency.cycles };
  };

  it('is refused where its drive makes it oscillate, by the radius of the driven period', () => {
    expect(growthAtRest(loop, 384)).toBe(1);
    const found = solveSteadyState(loop, periodOf(8000, 1.5));
    expect(found.method).toBe('shooting');
    expect(found.spectralRadius).toBeGreaterThan(1);
    expect(found.oscillates).toBe(true);
  });

  it('is refused where no period is found, by shooting nor by waiting', () => {
    const lost = solveSteadyState(loop, periodOf(8000, 0.3));
    expect(lost.method).toBe('settling');
    expect(lost.oscillates).toBe(true);
    expectNoHarmonics(measureCircuit(loop, { frequencyHz: 8000, peakVolts: 0.3, orders: [2, 3] }));
  });

  it('is measured at a level that leaves it quiet', () => {
    expect(measureCircuit(loop, { ...tone, peakVolts: 1e-3 }).oscillates).toBeUndefined();
  });
});
