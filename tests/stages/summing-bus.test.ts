/** The summing bus against hand calculation: what its number of sources costs in noise, bandwidth and margin, and what the virtual earth leaves. */
import { describe, expect, it } from 'vitest';
import { assembleCircuit, findOperatingPoint, loopGain, loopProbeName, withLoopProbe } from '../../dsp/circuit/index.ts';
import { resolveValues, stageById } from '../../dsp/stages/index.ts';
import type { StageValues } from '../../dsp/stages/index.ts';
import { expectNear, gainsDb, readingOf } from './support/small-signal.ts';

const id = 'summing-bus';
/** Nothing but RF and the mix resistors at the virtual earth. */
const bare: StageValues = { sourceOhms: 1, wiringFarads: 1e-11, feedbackFarads: 1e-12 };
const counts = [2, 8, 24, 64];

describe('the number of sources', () => {
  it('is the noise gain less one', () => {
    for (const sources of counts) expectNear(10 ** (readingOf(id, 'noise gain', { ...bare, sources }) / 20), sources + 1, 0.001 * sources, `${sources} sources`);
  });

  it('leaves the programme alone', () => {
    // RF over RM and RS, build-out and load: −0.043 − 0.041 dB.
    for (const sources of counts) expectNear(gainsDb(id, { sources }, [1000])[0]!, 20 * Math.log10((10e3 / 10_050) * (10e3 / 10_047)), 0.01, `${sources} sources, dB`);
  });

  it('divides the bandwidth', () => {
    // Gain-bandwidth over noise gain; 10 %: the second pole, four times the gain-bandwidth, and the output's resistance.
    for (const sources of counts.slice(1)) {
      const expected = 8e6 / (sources + 1);
      expectNear(readingOf(id, 'bandwidth', { ...bare, sources }), expected, 0.1 * expected, `${sources} sources, Hz`);
    }
  });

  it('raises the noise of the amplifier and its resistors together', () => {
    // Of resistors alone: RF, and all sources across RF/R: 4kT RF (1 + N RF/RM). The amplifier's pair comes on top, N + 1 times.
    for (const sources of counts) {
      const resistors = 20 * Math.log10(Math.sqrt((4 * 1.380649e-23 * 300.15 * 10e3 * (1 + sources)) * 19_980) / Math.sqrt(0.6));
      expect(readingOf(id, 'noise at the output', { ...bare, sources })).toBeGreaterThan(resistors);
    }
    const [two, many] = [2, 64].map((sources) => readingOf(id, 'noise at the output', { ...bare, sources }));
    // Between that of resistors (√(65/3), 13.4 dB) and that of the amplifier (65/3, 26.7 dB).
    expect(many! - two!).toBeGreaterThan(13.4);
    expect(many! - two!).toBeLessThan(26.7);
  });
});

describe('the virtual earth', () => {
  it('is RF over the amplifier’s gain, and leaves that much of the programme in the other sources', () => {
    // At 10 kHz 8 MHz leave a gain of 800 less the output's division: 12.6 Ω. Across 50 Ω of another source's 10.05 kΩ: −104 dB.
    expectNear(readingOf(id, 'virtual earth'), 10e3 / 800, 0.4, 'Ω');
    expectNear(readingOf(id, 'crosstalk'), 20 * Math.log10((12.6 / 10_062) * (50 / 10_050)), 0.3, 'dB');
    expectNear(readingOf(id, 'crosstalk', { gainBandwidthHz: 2e6 }) - readingOf(id, 'crosstalk'), 12, 0.3, 'a quarter of the gain-bandwidth, dB');
  });
});

describe('the margin', () => {
  const marginOf = (given: StageValues): number => readingOf(id, 'phase margin', given);

  it('is what gain and feedback network say by hand', () => {
    // |A β| = 1 with β = 1/(1 + N RF/RM) alone: lag of the integrator 90° and of the second pole atan(f/32 MHz).
    const crossing = 8e6 / 3;
    expectNear(marginOf({ ...bare, sources: 2, wiringFarads: 1e-11 }), 90 - (180 / Math.PI) * (Math.atan(crossing / 32e6) + Math.atan(2 * Math.PI * crossing * 3333 * 11e-12)) + (180 / Math.PI) * Math.atan(2 * Math.PI * crossing * 10e3 * 1e-12), 3, 'degrees');
  });

  it('falls with the wiring and comes back with the feedback capacitor', () => {
    const loose = marginOf({ wiringFarads: 10e-9, feedbackFarads: 5e-12, sources: 16 });
    expect(loose).toBeLessThan(45);
    expect(marginOf({ wiringFarads: 1e-9, feedbackFarads: 5e-12, sources: 16 })).toBeGreaterThan(loose + 15);
    expect(marginOf({ wiringFarads: 10e-9, feedbackFarads: 100e-12, sources: 16 })).toBeGreaterThan(loose + 15);
  });

  it('is where the loop of the circuit, probed at its amplifier, crosses 1', () => {
    const stage = stageById(id);
    const document = withLoopProbe(stage.circuit(resolveValues(stage, {}), null)!, 'U1 pole resistor', 'U1 buffered');
    const system = assembleCircuit(document);
    const crossing = Number(/at (\d+) kHz/.exec(stage.report(resolveValues(stage, {}), stage.program(resolveValues(stage, {}), { rateHz: 384_000, source: null })).readings.find(({ label }) => label === 'phase margin')!.note!)![1]);
    const [loop] = loopGain(system, findOperatingPoint(system), loopProbeName, [crossing * 1000]);
    expectNear(Math.hypot(loop!.re, loop!.im), 1, 0.01, 'loop gain there');
  });

  it('too small is refused, naming what is wanted and what is there', () => {
    expect(() => resolveValues(stageById(id), { sources: 2, wiringFarads: 1e-7, feedbackFarads: 1e-12 })).toThrow(/feedbackFarads: expected enough for a phase margin of 10°, got 1 pF and -?\d+° with 100 nF of wiring/);
  });
});
