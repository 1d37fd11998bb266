/** The microphone input against hand calculation: gain, ends of the band, what the microphone sees, floor and ceiling, for the pair and for the transformer. */
import { describe, expect, it } from 'vitest';
import { resolveValues, stageById } from '../../dsp/stages/index.ts';
import type { StageValues } from '../../dsp/stages/index.ts';
import { expectNear, readingOf, reportOf } from './support/small-signal.ts';
import { programOf, toneThrough } from './support/tone.ts';

const id = 'microphone-input';
const kelvin = 300.15;
const boltzmann = 1.380649e-23;
/** dBu of the thermal noise of a resistance, 20 Hz to 20 kHz. */
const thermalDbu = (ohms: number): number => 20 * Math.log10(Math.sqrt(4 * boltzmann * kelvin * ohms * 19_980) / Math.sqrt(0.6));

describe('gain', () => {
  it.each([
    ['electronic', 20, -16], ['electronic', 44, -40], ['electronic', 60, -56], ['transformer', 25, -20], ['transformer', 44, -40], ['transformer', 60, -56],
  ] as const)('%s, %d dB: programme at %d dBu comes out at line level', (input, gainDb, microphoneDbu) => {
    const given: StageValues = { input, gainDb, microphoneDbu };
    // 0.05 dB: build-out, and at 60 dB what the gain capacitor leaves of 1 kHz.
    expectNear(readingOf(id, 'gain from the microphone', given), gainDb - 0.04, 0.05, 'gain, dB');
    const tone = toneThrough(programOf(id, given), 1000, 4);
    expectNear(tone.outputDbu, microphoneDbu + gainDb, 0.06, 'level out, dBu');
    expect(tone.thd.f).toBeLessThan(1e-3);
  });

  it('has a pad of the microphone’s resistance that is its level', () => {
    const document = stageById(id).circuit(resolveValues(stageById(id), { microphoneDbu: -56, microphoneOhms: 200 }), null)!;
    const ohms = (name: string): number => (document.components.find((component) => component.name === name) as { readonly ohms: number }).ohms;
    const [series, shunt] = [ohms('RP1'), ohms('RP2')];
    expectNear(20 * Math.log10(shunt / (series + shunt)), -60, 1e-9, 'pad, dB');
    expectNear(1 / (1 / series + 1 / shunt), 200, 1e-9, 'source, Ω');
  });

  it('refuses a gain below the transformer’s own, one beyond every rail, and a pair too fast for its amplifier', () => {
    const refused = (given: StageValues) => () => resolveValues(stageById(id), given);
    expect(refused({ input: 'transformer', stepUp: 15, terminationOhms: 1e6, gainDb: 20 })).toThrow(/gainDb: expected at least 2\d.*since the transformer alone makes 2\d.* got 20 dB/);
    expect(refused({ microphoneDbu: -16, gainDb: 60 })).toThrow(/gainDb: expected at most 40 dB for -16 dBu at the microphone.* got 60 dB/);
    expect(refused({ microphoneDbu: -16, gainDb: 20, compensationFarads: 22e-12, gainBandwidthHz: 1e6 })).toThrow(/compensationFarads: expected at least \d+\.?\d* pF.* got 22 pF/);
  });
});

describe('the pair', () => {
  it('shows the microphone its bias resistor beside its base', () => {
    // 6.8 kΩ beside the base's input resistance times its loop gain, megohms.
    expectNear(readingOf(id, 'microphone sees'), 6800, 30, 'Ω');
  });

  it.each([[44, -40], [60, -56]] as const)('at %d dB ends where its loop crosses 1', (gainDb, microphoneDbu) => {
    // 1/(2π · 100 pF · (10 + 25.86) Ω · noise gain): 281 and 43.5 kHz. 8 %: the amplifier behind, which is no perfect integrator.
    const noiseGain = 10 ** (gainDb / 20) * (1 + 150 / 6800);
    const crossing = 1 / (2 * Math.PI * 100e-12 * 35.86 * noiseGain);
    expectNear(readingOf(id, 'high end of the band', { gainDb, microphoneDbu }), crossing, 0.08 * crossing, 'Hz');
  });

  it('at 60 dB is as quiet as its source, two emitters, their resistors and RG let it be', () => {
    // kT/q/2IC each of shot noise in the base voltage: 2 · 12.9 Ω; RE twice; RG 9.8 Ω; base current 2.5 µA in 150 Ω: 0.5 q/kT · 2.5 µA · (150 Ω)² ≈ 1.1 Ω.
    const ohms = 150 + 2 * 12.93 + 2 * 10 + 9.8 + 1.1;
    // The band ends at 41.6 kHz already: of its 20 kHz, 41.6 · atan(20/41.6) = 18.6 kHz are left, 0.3 dB.
    const narrowed = 10 * Math.log10((41.6 * Math.atan(20 / 41.6)) / 20);
    const noise = readingOf(id, 'equivalent input noise', { gainDb: 60, microphoneDbu: -56 });
    // 0.5 dB: 1/f noise, the collector resistors and the amplifier behind, which only add.
    expect(noise).toBeGreaterThan(thermalDbu(ohms) + narrowed - 0.02);
    expect(noise).toBeLessThan(thermalDbu(ohms) + narrowed + 0.5);
    expectNear(thermalDbu(150), -130.8, 0.05, '150 Ω at 300 K, dBu');
  });

  it('meets its rails where 15.5 V over its gain say', () => {
    expectNear(readingOf(id, 'largest input'), 20 * Math.log10(15.5 / 10 ** (44 / 20) / Math.sqrt(1.2)), 0.05, 'dBu');
    const clip = stageById(id).clipOutputDbu(resolveValues(stageById(id), { makeUpDb: 0 }), programOf(id, { makeUpDb: 0 }))!;
    expectNear(clip, 20 * Math.log10(15.5 / Math.sqrt(1.2)), 0.25, 'clips at the output, dBu');
  });
});

describe('the transformer', () => {
  const given: StageValues = { input: 'transformer' };

  it('shows the microphone its termination through the turns', () => {
    expectNear(readingOf(id, 'microphone sees', given), (150e3 + 1000) / 49 + 20, 20, 'Ω');
  });

  it('begins where the primary’s reactance meets what stands across it', () => {
    // 170 Ω beside 3.08 kΩ over 2π · 5 H.
    const across = 1 / (1 / 170 + 49 / 151e3);
    const corner = across / (2 * Math.PI * 5);
    expectNear(readingOf(id, 'low end of the band', given), corner, 0.02 * corner, 'Hz');
  });

  it('needs less of the amplifier: quieter than the pair at low gain', () => {
    const low = { gainDb: 30, microphoneDbu: -26 };
    expect(readingOf(id, 'equivalent input noise', { ...low, ...given })).toBeLessThan(readingOf(id, 'equivalent input noise', low) - 2);
  });

  it('has a sheet and values of its own', () => {
    const stage = stageById(id);
    const symbols = (values: StageValues) => stage.drawingFor!(resolveValues(stage, values)).placements.map(({ symbol }) => symbol);
    expect(symbols(given)).toContain('transformer');
    expect(symbols({})).not.toContain('transformer');
    expect(stage.relevant!(resolveValues(stage, given))).toContain('stepUp');
    expect(stage.relevant!(resolveValues(stage, {}))).not.toContain('stepUp');
    expect(reportOf(id, given).remarks.map(({ label }) => label)).toContain('runs out first');
  });
});
