/**
 * The line amplifier: 24 V, 45 mA, 1:1 into 600 Ω, 22 V peak. What is asked of the design (current, swing, inductance, flux) was given beforehand; its bias is checked by Kirchhoff's laws on the node
 * voltages, its clipping by what current and voltage allow, its loop by closed-loop gain with and without feedback.
 */
import { describe, expect, it } from 'vitest';
import { assembleCircuit, chooseFrequency, cosineDrive, exactResponse, findOperatingPoint, harmonicFigures, solveSteadyState } from '../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { dbuToPeakVolts, defaultValues, resolveValues, stageById } from '../../dsp/stages/index.ts';
import type { StageValues } from '../../dsp/stages/index.ts';
import { saturationFlux } from '../../dsp/stages/shared/transformer-core.ts';
import { programOf, toneAtOutput } from './support/tone.ts';

const id = 'line-amplifier';
const stage = stageById(id);
const valuesOf = (given: StageValues = {}): StageValues => ({ ...defaultValues(stage), ...given });
const reportOf = (given: StageValues = {}) => stage.report(valuesOf(given), programOf(id, given));
const reading = (label: string, given: StageValues = {}): number => reportOf(given).readings.find((candidate) => candidate.label === label)!.value;

function expectNear(actual: number, expected: number, limit: number, what: string): void {
  const error = Math.abs(actual - expected);
  if (!(error <= limit)) throw new Error(`${what}: expected ${expected}, got ${actual}, error ${error}, limit ${limit}`);
}

function gainOf(document: CircuitDocument, hz: number): number {
  const system = assembleCircuit(document);
  const [h] = exactResponse(system, findOperatingPoint(system), [hz]);
  return Math.hypot(h!.re, h!.im);
}

describe('at rest', () => {
  it('has the quiescent current asked for, within 1 %, wherever it is asked', () => {
    for (const given of [{}, { quiescentAmperes: 0.02 }, { quiescentAmperes: 0.07, emitterOhms: 6.8, saturationDbu: 40 }, { supplyVolts: 40, primaryOhms: 60 }, { supplyVolts: 15 }, { feedbackOhms: 68e3, inputOhms: 68e3 }] as const) {
      const wanted = valuesOf(given)['quiescentAmperes'] as number;
      expectNear(reading('output current', given), wanted, 0.01 * wanted, JSON.stringify(given));
    }
  });

  it('obeys Kirchhoff at the output device: what the primary carries leaves through emitter resistor, direct path and feedback', () => {
    const volts = reportOf().nodeVolts;
    const primary = (24 - volts['core']!) / 10;
    const feedback = (volts['collector-3']! - volts['base-1']!) / 22e3;
    const emitter = volts['emitter-3']! / 10;
    const direct = (volts['emitter-3']! - volts['direct']!) / 200;
    // The rest is base current: 0.3 mA at a current gain of 120 and an Early voltage of 100 V.
    expectNear(emitter + direct - (primary - feedback), primary / 120 / 1.22, 0.02e-3, 'base current, A');
    expectNear(volts['collector-3']!, 24 - 10 * primary, 1e-9, 'collector, V');
    expectNear(volts['out']!, 0, 1e-12, 'load, V');
  });

  it('leaves the core half its flux: 5 H carry 45 mA under the 0.45 Vs it saturates at', () => {
    expectNear(reading('primary inductance'), 5, 1e-9, 'inductance, H');
    expect(saturationFlux(valuesOf()['saturationDbu'] as number)).toBeGreaterThanOrEqual(0.45);
    expect(0.045 * 5).toBeLessThan(0.5 * 0.4523);
    expect(() => resolveValues(stage, { saturationDbu: 25 })).toThrow(/line-amplifier: quiescentAmperes: expected at most 2\d\.\d+ mA, since more direct current would saturate this core at rest .* got 45 mA/);
    expect(() => resolveValues(stage, { saturationDbu: 25, core: 'ideal' })).not.toThrow();
  });
});

describe('small signals', () => {
  it('has the gain of its two resistors, less what the load takes and one over the loop gain', () => {
    const loop = 10 ** (reading('loop gain at 1 kHz') / 20);
    const lost = 600 / (600 + 20);
    // Voltage feedback to a node that sees RF, RIN, RB and Q1 in parallel: the closed loop falls short by one part in 1 + T; what the secondary and primary windings take is outside.
    expectNear(gainOf(stage.circuit(valuesOf(), null)!, 1000), lost * (loop / (1 + loop)), 0.01, 'gain');
    expectNear(reading('gain, small signal'), 0, 0.05, 'gain with make-up, dB');
  });

  it('keeps 36 dB of loop gain at 1 kHz and 20 at 20 kHz, and 60° of margin, whatever it drives', () => {
    for (const given of [{}, { loadOhms: 300 }, { loadOhms: 10e3 }, { loadFarads: 30e-9 }, { leakageHenries: 5e-3, loadFarads: 30e-9 }]) {
      const { readings } = reportOf(given);
      expect(reading('loop gain at 1 kHz', given), JSON.stringify(given)).toBeGreaterThan(36);
      expect(reading('loop gain at 20 kHz', given)).toBeGreaterThan(20);
      const margin = Number(/^(-?\d+)°/.exec(readings.find(({ label }) => label === 'loop crosses at')!.note!)![1]);
      expect(margin, JSON.stringify(given)).toBeGreaterThan(60);
    }
  });

  it('is flat from 20 Hz to 20 kHz within half a decibel', () => {
    const document = stage.circuit(valuesOf(), null)!;
    for (const hz of [20, 100, 10e3, 20e3]) expectNear(20 * Math.log10(gainOf(document, hz) / gainOf(document, 1000)), 0, 0.5, `${hz} Hz, dB`);
  });
});

describe('large signals', () => {
  const flat = { makeUpDb: 0, core: 'ideal' };

  it('has the harmonics of a degenerated class-A device: the second leads, and all fall with the level', () => {
    const [low, high] = [4, 20].map((dbu) => toneAtOutput(programOf(id, flat), 1000, dbu)) as [ReturnType<typeof toneAtOutput>, ReturnType<typeof toneAtOutput>];
    expect(low.thd.f).toBeLessThan(2e-5);
    expect(high.thd.f).toBeLessThan(1e-4);
    expect(low.db[2]!).toBeGreaterThan(low.db[3]! + 10);
    // H2 rises 1 dB a dB and H3 2 dB a dB.
    expectNear(high.db[2]! - low.db[2]!, 16, 2, 'rise of H2, dB');
    expectNear(high.db[3]! - low.db[3]!, 32, 2, 'rise of H3, dB');
  });

  it('clips at +26 dBu: the collector comes down to the emitter after 22 V', () => {
    const clip = stage.clipOutputDbu(valuesOf({ makeUpDb: 0 }), programOf(id, { makeUpDb: 0 }))!;
    // By hand: 23.1 V between collector and emitter less 0.2 V, over load, windings and emitter resistor.
    const peak = ((23.1 - 0.2) * 600) / 630;
    expectNear(clip, 20 * Math.log10(peak / dbuToPeakVolts(0)), 0.6, 'clip, dBu');
    expectNear(reading('headroom to rail') + 4, 26, 0.1, 'headroom, dBu');
    expect(peak).toBeGreaterThan(21.5);
  });

  it('runs out of current first where the load is heavy', () => {
    const { readings } = reportOf({ loadOhms: 300 });
    expect(readings.find(({ label }) => label === 'headroom to rail')!.note).toContain('cut-off comes first');
    expectNear(reading('headroom to rail', { loadOhms: 300 }) + 4, 20 * Math.log10((reading('output current', { loadOhms: 300 }) * 300) / dbuToPeakVolts(0)), 0.01, 'dBu');
  });

  it('adds the core’s odd harmonics at 20 Hz and, carrying direct current, even ones', () => {
    // At the base rate: what a core does at 20 Hz needs no finer steps.
    const at = (core: string): readonly number[] => {
      const program = stage.program(valuesOf({ core }), { rateHz: 48_000, source: null });
      if (program.kind !== 'circuit') throw new Error('expected a circuit');
      const frequency = chooseFrequency(20, 48_000);
      const { output, oscillates } = solveSteadyState(program.circuit, { input: cosineDrive(frequency, dbuToPeakVolts(4)), cycles: frequency.cycles }, { wantSpectralRadius: false });
      expect(oscillates).toBe(false);
      return harmonicFigures(output, frequency.cycles, [2, 3, 5]).harmonics.map(({ db }) => db);
    };
    const [real, ideal] = [at('hysteresis'), at('ideal')];
    expect(real[1]!).toBeGreaterThan(ideal[1]! + 20);
    expect(real[2]!).toBeGreaterThan(ideal[2]! + 20);
    // The second, which the device has by itself, changes by what the core's direct current adds.
    expect(Math.abs(real[0]! - ideal[0]!)).toBeGreaterThan(1);
  });
});
