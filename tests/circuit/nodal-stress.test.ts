// The nodal form of the running solve: the port form's answers, and in both back ends the same bits.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { buildProgramWithPorts } from '../../dsp/circuit/build-program.ts';
import { CircuitError } from '../../dsp/circuit/document-errors.ts';
import { buildProgram, CircuitRunner, measuringTolerance } from '../../dsp/circuit/index.ts';
import type { CircuitDocument, CircuitProgram } from '../../dsp/circuit/index.ts';
import { findPorts } from '../../dsp/circuit/ports.ts';
import { defaultValues, stageById } from '../../dsp/stages/index.ts';
import { installCompiledCode } from '../../ui/command-line/compiled-code.ts';
import { extremeValues, stressSignals } from '../support/stress.ts';
import { compareBackEnds } from './emit/compare-back-ends.ts';
import { randomCircuit } from './emit/random-circuits.ts';
import { unlikeChannels } from './emit/signals.ts';
import { commonEmitter, opAmpLoop, pushPull, rateHz } from './support.ts';

installCompiledCode();
const seed = 20261126;

const stageDocument = (id: string): CircuitDocument => stageById(id)!.circuit(defaultValues(stageById(id)!), null)!;
/** Taken wherever there is one. */
const nodalProgram = (document: CircuitDocument, rule: 'T1' | 'T12' = 'T1'): CircuitProgram =>
  buildProgramWithPorts(document, { rateHz, rule }, findPorts, { leastPorts: 1, largestShare: Infinity });
/** The same program, to be run over the ports. */
const overPorts = (program: CircuitProgram): CircuitProgram =>
  ({ ...program, topology: { ...program.topology, nodal: null }, instances: program.instances.map((instance) => ({ ...instance, nodal: null })) });

function run(program: CircuitProgram, channels: readonly Float64Array[]): { waves: Float64Array[]; rescues: number; evaluations: number } {
  const runner = new CircuitRunner(program, channels.length, measuringTolerance);
  const waves = channels.map((channel) => channel.slice());
  runner.process(waves, 0, waves[0]!.length);
  return { waves, rescues: runner.report.rescues.reduce((a, b) => a + b, 0), evaluations: runner.report.evaluations.reduce((a, b) => a + b, 0) };
}

/** Largest difference beside the largest value; NaN fails. */
function relativeDifference(a: readonly Float64Array[], b: readonly Float64Array[]): number {
  let largest = 0;
  let scale = 0;
  a.forEach((wave, channel) => wave.forEach((volts, n) => {
    const difference = Math.abs(volts - b[channel]![n]!);
    if (!(difference <= largest)) largest = difference;
    scale = Math.max(scale, Math.abs(b[channel]![n]!));
  }));
  return largest / scale;
}

describe('the nodal form', () => {
  it('is taken by op-amps of many ports, at any of their values, and by no small stage', () => {
    for (const id of ['op-amp-discrete', 'op-amp-integrated']) {
      const keys = new Set<string>();
      for (const { values } of extremeValues(stageById(id)!).slice(0, 6)) {
        const program = buildProgram(stageById(id)!.circuit(values, null)!, { rateHz });
        expect(program.topology.nodal).not.toBeNull();
        keys.add(program.topologyKey);
      }
      expect(keys.size).toBeLessThanOrEqual(2);
    }
    for (const document of [commonEmitter(), pushPull(), stageDocument('single-ended-valve')]) expect(buildProgram(document, { rateHz }).topology.nodal).toBeNull();
  });

  it.each(['op-amp-discrete', 'op-amp-integrated'])('%s: the answers of the port form under a tone and a tone that clips', (id) => {
    for (const rule of ['T1', 'T12'] as const) {
      const program = buildProgram(stageDocument(id), { rateHz, rule });
      const tone = (hz: number, peakVolts: number): Float64Array => Float64Array.from({ length: 1500 }, (_, n) => peakVolts * Math.sin((2 * Math.PI * hz * n) / rateHz));
      const channels = [tone(1000, 1.7), tone(3000, 12)];
      const [nodal, ports] = [run(program, channels), run(overPorts(program), channels)];
      // The tolerance of 1e-6 leaves i · tol² / 2 in the currents; the rest is rounding times the gain of the open loop.
      expect(relativeDifference(nodal.waves, ports.waves)).toBeLessThan(1e-9);
      expect(Math.abs(nodal.evaluations - ports.evaluations)).toBeLessThanOrEqual(0.002 * ports.evaluations);
    }
  });

  it.each([
    ['common emitter', commonEmitter()], ['push-pull', pushPull()], ['op-amp loop', opAmpLoop()],
    ['op-amp-discrete', stageDocument('op-amp-discrete')], ['op-amp-integrated', stageDocument('op-amp-integrated')],
  ])('%s: what the port form gives under squares, clicks and noise, and no more rescues, although devices turn fully off', (_, document) => {
    const program = nodalProgram(document);
    expect(program.topology.nodal).not.toBeNull();
    for (const { name, channels } of stressSignals(rateHz, seed, 0.15)) {
      const [nodal, ports] = [run(program, channels), run(overPorts(program), channels)];
      expect({ name, difference: relativeDifference(nodal.waves, ports.waves) }).toEqual({ name, difference: expect.toSatisfy((difference: number) => difference < 1e-9) });
      // Rounding may decide a borderline sample either way.
      expect(nodal.rescues).toBeLessThanOrEqual(1.05 * ports.rescues + 3);
    }
  });
});

describe('in both back ends', () => {
  it.each(['op-amp-discrete', 'op-amp-integrated'])('%s: the same bits under stress, one channel in rescue, and with the channels exchanged', (id) => {
    const program = buildProgram(stageDocument(id), { rateHz });
    let alone = 0;
    for (const { name, channels: [left, right] } of stressSignals(rateHz, seed, 0.15)) {
      const one = compareBackEnds(program, [left, right], { inArena: false });
      const other = compareBackEnds(program, [right, left], { inArena: false });
      expect(`${name}: ${one.difference} ${other.difference}`).toBe(`${name}: null null`);
      const before = left.length >> 1;
      expect(one.outputs[0]!.subarray(0, before)).toEqual(other.outputs[1]!.subarray(0, before));
      expect(one.outputs[1]!.subarray(0, before)).toEqual(other.outputs[0]!.subarray(0, before));
      if (one.report.rescues[0] !== one.report.rescues[1]) alone += 1;
    }
    const quiet = new Float64Array(400);
    const loud = compareBackEnds(program, [quiet, unlikeChannels(400, 80, seed)[1]]);
    expect(loud.difference).toBeNull();
    expect(loud.report.rescues[0]).toBe(0);
    expect(loud.report.rescues[1]).toBeGreaterThan(0);
    expect(alone).toBeGreaterThan(0);
  });

  it.each(['op-amp-discrete', 'op-amp-integrated'])('%s: the same bits at the cap, without finite input, and in a single channel', (id) => {
    const program = buildProgram(stageDocument(id), { rateHz, rule: 'T12' });
    const capped = compareBackEnds(program, unlikeChannels(40, 1, seed), { tolerance: 0, instanceIndex: 1 });
    expect(capped.difference).toBeNull();
    expect(capped.report.capHits[0]).toBeGreaterThan(20);
    const [left, right] = unlikeChannels(300, 2, seed);
    [NaN, Infinity, -Infinity, 1e200, 9e99].forEach((bad, k) => { left[20 * k] = bad; });
    right[70] = NaN;
    const spoilt = compareBackEnds(program, [left, right]);
    expect(spoilt.difference).toBeNull();
    expect(spoilt.report.nonFinite[0]).toBeGreaterThanOrEqual(4);
    expect(spoilt.report.nonFinite[1]).toBe(1);
    expect(compareBackEnds(program, [right], { tolerance: measuringTolerance }).difference).toBeNull();
  });

  it('random circuits give the same bits wherever they have such a form, and what the ports give', () => {
    const seen = { nodal: 0, none: 0, held: 0, rescued: 0 };
    fc.assert(fc.property(randomCircuit, fc.nat(1000), (document, signalSeed) => {
      let program: CircuitProgram;
      try {
        program = nodalProgram(document);
      } catch (error) {
        if (error instanceof CircuitError) return;
        throw error;
      }
      const { nodal } = program.topology;
      if (nodal === null) {
        seen.none += 1;
        return;
      }
      seen.nodal += 1;
      if (nodal.controlHeld.some((held) => held === 1)) seen.held += 1;
      const { difference, report } = compareBackEnds(program, unlikeChannels(120, 2, seed + signalSeed), { longestBlock: 90 });
      expect(difference).toBeNull();
      if (report.rescues.some((count) => count > 0)) seen.rescued += 1;
    }), { seed, numRuns: 120 });
    expect(seen.nodal).toBeGreaterThan(30);
    expect(seen.held).toBeGreaterThan(10);
    expect(seen.rescued).toBeGreaterThan(3);
  });
});
