// The compiled kernel against the readable loop: every output, state and counter to the bit.
import { describe, expect, it } from 'vitest';
import { buildProgram, measuringTolerance } from '../../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../../dsp/circuit/index.ts';
import { createInstance, instanceBytes } from '../../../dsp/circuit/create-instance.ts';
import { KernelInstance } from '../../../dsp/circuit/emit/kernel-instance.ts';
import { createCodeMemory } from '../../../dsp/webassembly/index.ts';
import { installCompiledCode } from '../../../ui/command-line/compiled-code.ts';
import { capacitor, documentFile, input, parsedOf, resistor } from '../../support/circuits.ts';
import { DirectSolution } from '../../support/direct-solution.ts';
import { stressDocuments, stressSignals, stressStages } from '../../support/stress.ts';
import { commonEmitter, idealTailPair, largestDifference, opAmpLoop, pushPull, rateHz } from '../support.ts';
import { compareBackEnds } from './compare-back-ends.ts';
import { unlikeChannels } from './signals.ts';

installCompiledCode();
const seed = 20261125;

/** An amplifier that feeds a capacitor more than it loses: grows 19 times a sample. */
const growing = parsedOf([
  input('in'), resistor('RI', 'in', 'x', 10e3), capacitor('C', 'x', 'ground', 100e-12), { kind: 'amplifier', name: 'A', out: ['y', 'ground'], in: ['x', 'ground'], gain: 2.7 },
  resistor('RF', 'y', 'x', 10e3),
], ['x', 'ground']);

const total = (counter: Float64Array): number => counter.reduce((sum, count) => sum + count, 0);

/** Both channels of a compiled instance, from rest. */
function kernelOutput(document: CircuitDocument, left: Float64Array, right: Float64Array): readonly Float64Array[] {
  const program = buildProgram(document, { rateHz });
  const memory = createCodeMemory(instanceBytes(program))!;
  const runner = createInstance(program, 0, 2, measuringTolerance, { memory, arena: memory.arena });
  expect(runner).toBeInstanceOf(KernelInstance);
  const waves = [left.slice(), right.slice()];
  waves.forEach((wave, channel) => runner.start(channel, wave[0]! / 2));
  runner.process(waves, 0, left.length);
  return waves;
}

describe('the kernel against the direct solution at 1/16 of the step', () => {
  it.each([
    // Peak volts in, limit in volts: 12 dB per octave of rate, as the loop's own comparison has it.
    ['common emitter, clipping', commonEmitter({ bypassFarads: 1e-6, inputFarads: 1e-7, outputFarads: 1e-7 }), 1.5, 6e-3],
    ['push-pull near class B', pushPull(50e-6), 5, 1e-3],
    ['pair on an ideal tail', idealTailPair(), 0.2, 1e-3],
  ] as const)('%s, 2 kHz, and another tone in the other channel', (_, document, peakVolts, limit) => {
    const frames = 300;
    const tone = (hz: number, share: number) => (t: number): number => share * peakVolts * Math.sin(2 * Math.PI * hz * t) * (t < 0.2e-3 ? Math.sin((Math.PI * t) / 0.4e-3) ** 2 : 1);
    const signals = [tone(2000, 1), tone(3100, 0.4)] as const;
    const waves = signals.map((signal) => Float64Array.from({ length: frames }, (_entry, k) => signal((k + 1) / rateHz)));
    kernelOutput(document, waves[0]!, waves[1]!).forEach((output, channel) => {
      const direct = new DirectSolution(document, { rate: rateHz, substeps: 16 }).rest().run(frames, signals[channel]!);
      expect(Math.max(...direct) - Math.min(...direct)).toBeGreaterThan(0.3);
      expect(largestDifference(output, direct)).toBeLessThan(limit);
    });
  });
});

describe('the kernel equals the loop to the bit', () => {
  it('in every circuit document of the tests, with ordinary and with extreme values', () => {
    for (const { name, document } of stressDocuments()) {
      const { difference } = compareBackEnds(buildProgram(document, { rateHz }), unlikeChannels(900, 2, seed));
      expect(`${name}: ${difference}`).toBe(`${name}: null`);
    }
  });

  it('in every stage, at its default values and at the ends of their ranges', () => {
    for (const { name, document } of stressStages()) {
      const { difference } = compareBackEnds(buildProgram(document, { rateHz }), unlikeChannels(300, 1.7, seed));
      expect(`${name}: ${difference}`).toBe(`${name}: null`);
    }
  });

  it('under squares, clicks and noise that reach the rescue', () => {
    let rescues = 0;
    let longest = 0;
    for (const name of ['common-emitter', 'push-pull', 'op-amp-loop', 'five-transistor', 'single-ended-field-effect', 'single-ended-valve']) {
      const program = buildProgram(documentFile(name), { rateHz });
      for (const { name: signal, channels } of stressSignals(rateHz, seed, 0.3)) {
        const { difference, report } = compareBackEnds(program, channels, { inArena: false, seed });
        expect(`${name}, ${signal}: ${difference}`).toBe(`${name}, ${signal}: null`);
        rescues += total(report.rescues);
        longest = Math.max(longest, ...report.maximumEvaluations);
      }
    }
    expect(rescues).toBeGreaterThan(100);
    expect(longest).toBeGreaterThan(20);
  });

  it('at the cap, which an impossible tolerance makes them hit', () => {
    const cases: readonly CircuitDocument[] = [commonEmitter(), pushPull(), opAmpLoop(), idealTailPair()];
    for (const document of cases) {
      const { difference, report } = compareBackEnds(buildProgram(document, { rateHz }), unlikeChannels(60, 1, seed), { tolerance: 0 });
      expect(difference).toBeNull();
      expect(total(report.capHits)).toBeGreaterThan(60);
    }
  });

  it('at the measuring tolerance, and in a single channel', () => {
    for (const document of [commonEmitter(), pushPull(50e-6), opAmpLoop(33, 6e-12)]) {
      const program = buildProgram(document, { rateHz });
      const [left, right] = unlikeChannels(600, 2, seed);
      for (const channels of [[left, right], [left], [right]]) {
        expect(compareBackEnds(program, channels, { tolerance: measuringTolerance }).difference).toBeNull();
        expect(compareBackEnds(program, channels, { tolerance: measuringTolerance, inArena: false }).difference).toBeNull();
      }
    }
  });

  it('where inputs, states and outputs are not finite', () => {
    const program = buildProgram(commonEmitter(), { rateHz });
    const [left, right] = unlikeChannels(500, 1, seed);
    [NaN, Infinity, -Infinity, 1e200, 1e100, -9e99].forEach((bad, k) => { left[40 * k] = bad; });
    right[70] = NaN;
    right[80] = NaN;
    const { difference, report } = compareBackEnds(program, [left, right]);
    expect(difference).toBeNull();
    // Two more where 1e100 V and −9e99 V, which are inputs, leave memories beyond what counts as a state.
    expect([...report.nonFinite]).toEqual([6, 2]);
    // No device to hold it: a memory grows beyond what counts as a state, one channel at a time.
    const amplified = buildProgram(growing, { rateHz });
    const spoilt = [Float64Array.from({ length: 1000 }, () => 1), Float64Array.from({ length: 1000 }, (_, n) => (n < 300 ? 0 : 1e10))];
    const growth = compareBackEnds(amplified, spoilt);
    expect(growth.difference).toBeNull();
    expect(growth.report.nonFinite[0]).toBeGreaterThan(2);
    expect(growth.report.nonFinite[1]).toBeGreaterThan(2);
    expect(growth.outputs[0]!.every((volts) => Math.abs(volts) < 1e16)).toBe(true);
  });

  it('without devices, without states, with an output that nothing reaches, and at a tolerance that cannot be met', () => {
    const divider = [input('in'), resistor('R1', 'in', 'x', 1e3), resistor('R2', 'x', 'ground', 1e3)];
    const bare: readonly CircuitDocument[] = [
      parsedOf(divider, ['x', 'ground']), parsedOf([...divider, capacitor('C', 'x', 'ground', 1e-9)], ['x', 'ground']),
      parsedOf([...divider, resistor('R3', 'y', 'ground', 1e3), resistor('R4', 'y', 'ground', 1e3)], ['y', 'ground']),
    ];
    for (const document of bare) {
      for (const tolerance of [1e-4, 0]) {
        const program = buildProgram(document, { rateHz, rule: 'T12' });
        expect(program.topology.portCount).toBe(0);
        for (const instanceIndex of [0, 1]) expect(compareBackEnds(program, unlikeChannels(200, 2, seed), { tolerance, instanceIndex }).difference).toBeNull();
      }
    }
  });

  it('at every step of a rule', () => {
    for (const name of ['common-emitter', 'op-amp-loop', 'transformer-line']) {
      const program = buildProgram(documentFile(name), { rateHz, rule: 'T24' });
      expect(program.instances.length).toBe(2);
      program.instances.forEach((_, instanceIndex) => {
        expect(compareBackEnds(program, unlikeChannels(500, 2, seed), { instanceIndex }).difference).toBeNull();
      });
    }
  });

  it('whichever side a channel is on', () => {
    for (const document of [commonEmitter(), pushPull(50e-6), opAmpLoop(), documentFile('five-transistor')]) {
      const program = buildProgram(document, { rateHz });
      const [left, right] = unlikeChannels(800, 3, seed);
      const one = compareBackEnds(program, [left, right]);
      const other = compareBackEnds(program, [right, left]);
      expect(one.difference).toBeNull();
      expect(other.difference).toBeNull();
      // Before the new start in the middle, which is the right-hand channel's alone.
      expect(one.outputs[0]!.subarray(0, 400)).toEqual(other.outputs[1]!.subarray(0, 400));
      expect(one.outputs[1]!.subarray(0, 400)).toEqual(other.outputs[0]!.subarray(0, 400));
      expect(one.report.rescues[0]).not.toBe(one.report.rescues[1]);
    }
  });
});
