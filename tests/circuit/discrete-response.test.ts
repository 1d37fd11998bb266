// The response of the program as it runs: what a small tone measures, and what the analogue circuit has, up to the rule's warping.
import { describe, expect, it } from 'vitest';
import {
  assembleCircuit, buildProgram, CircuitRunner, discreteResponse, exactResponse, findOperatingPoint, linearStepOf, measureCircuit, measuringTolerance,
} from '../../dsp/circuit/index.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { capacitor, input, parsedOf, resistor } from '../support/circuits.ts';
import { commonEmitter, expectWithin, idealTailPair, opAmpLoop, pushPull, rateHz } from './support.ts';

const circuits = [
  ['common emitter', commonEmitter()], ['push-pull', pushPull()], ['op-amp loop', opAmpLoop()], ['pair on an ideal tail', idealTailPair()],
] as const;

describe.each(circuits)('%s', (_, document) => {
  const program = buildProgram(document, { rateHz });

  it.each([100, 1000, 20_000])('equals what a tone of 1 µV measures at %d Hz', (hz) => {
    const [{ re, im }] = discreteResponse(program, [hz]) as [{ re: number; im: number }];
    const measured = measureCircuit(program, { frequencyHz: hz, peakVolts: 1e-4, orders: [2] });
    if (measured.oscillates) throw new Error('expected a steady state');
    const { peakVolts, phaseDegrees } = measured.fundamental;
    const phase = (phaseDegrees * Math.PI) / 180;
    // 1e-5 of the gain: what is left of the curvature at 0.1 mV, and of the period's own error of 1e-9 V.
    const gain = Math.hypot(re, im);
    expectWithin((peakVolts / 1e-4) * Math.cos(phase), re, 2e-5 * gain + 1e-6, 're');
    expectWithin((peakVolts / 1e-4) * Math.sin(phase), im, 2e-5 * gain + 1e-6, 'im');
  });

  it('is the analogue response up to the warping of the rule', () => {
    const system = assembleCircuit(document);
    const frequencies = [20, 1000, 10_000, 20_000];
    const exact = exactResponse(system, findOperatingPoint(system), frequencies);
    discreteResponse(program, frequencies).forEach(({ re, im }, k) => {
      const change = 20 * Math.log10(Math.hypot(re, im) / Math.hypot(exact[k]!.re, exact[k]!.im));
      // Trapezoidal: frequencies are off by (ωh)²/12, 0.9 % at 20 kHz; 0.02 dB for slopes of a few dB per octave there.
      expectWithin(change, 0, 0.02, `${frequencies[k]!} Hz, dB`);
    });
  });

  it('is stable', () => {
    const { memory, stateCount } = linearStepOf(program);
    // No power of A grows: entries of A^4096 by squaring stay bounded.
    let power = memory;
    for (let k = 0; k < 12; k += 1) {
      const next = new Float64Array(power.length);
      for (let row = 0; row < stateCount; row += 1) for (let i = 0; i < stateCount; i += 1) for (let c = 0; c < stateCount; c += 1) next[row * stateCount + c]! += power[row * stateCount + i]! * power[i * stateCount + c]!;
      power = next;
    }
    for (const entry of power) expect(Math.abs(entry)).toBeLessThan(10);
  });
});

describe('under every rule', () => {
  /** Time constants of a few milliseconds at most. */
  const quick: readonly (readonly [string, CircuitDocument])[] = [
    ['low-pass', parsedOf([input('in'), resistor('R1', 'in', 'out', 1000), capacitor('C1', 'out', 'ground', 1e-9)], ['out', 'ground'])],
    ['220 pF behind 10 Ω', parsedOf([input('in'), resistor('R1', 'in', 'out', 10), capacitor('C1', 'out', 'ground', 220e-12)], ['out', 'ground'])],
    ['common emitter', commonEmitter({ bypassFarads: 1e-6, inputFarads: 1e-7, outputFarads: 1e-7 })],
    ['op-amp loop', opAmpLoop()],
  ];
  const peakVolts = 1e-4;
  /** Whole periods of all three tones, after ten of the longest time constants. */
  const [waited, heard] = [13_000, 1920];
  const cyclesHeard = [5, 100, 300];

  describe.each(quick)('%s', (_, document) => {
    it.each(['T1', 'T12', 'T24'] as const)('%s equals what the running program does to tones of 0.1 mV at 1, 20 and 60 kHz', (rule) => {
      const program = buildProgram(document, { rateHz, rule });
      const expected = discreteResponse(program, cyclesHeard.map((cycles) => (cycles * rateHz) / heard));
      cyclesHeard.forEach((cycles, k) => {
        const angle = (n: number): number => (2 * Math.PI * ((cycles * n) % heard)) / heard;
        const wave = Float64Array.from({ length: waited + heard }, (_entry, n) => peakVolts * Math.cos(angle(n)));
        new CircuitRunner(program, 1, measuringTolerance).process([wave], 0, wave.length);
        const project = (of: (x: number) => number): number =>
          wave.subarray(waited).reduce((sum, volts, n) => sum + volts * of(angle(waited + n)), 0) * 2 / heard / peakVolts;
        const { re, im } = expected[k]!;
        // 1e-5 of the gain: curvature at 0.1 mV, and e⁻¹⁰ of how it began.
        expectWithin(project(Math.cos), re, 1e-5 * Math.hypot(re, im), `${cycles} cycles, re`);
        expectWithin(-project(Math.sin), im, 1e-5 * Math.hypot(re, im), `${cycles} cycles, im`);
      });
    });
  });

  it('tells the rules apart: the warping of T1 at 20 kHz, the cubic at 60 kHz', () => {
    // At the corner, 16 kHz; far below one, τ under the step, what the combination gains is less than what the cubic costs.
    const document = parsedOf([input('in'), resistor('R1', 'in', 'out', 1000), capacitor('C1', 'out', 'ground', 10e-9)], ['out', 'ground']);
    const system = assembleCircuit(document);
    const frequencies = [20_000, 60_000];
    const exact = exactResponse(system, findOperatingPoint(system), frequencies);
    const changesDb = (['T1', 'T12', 'T24'] as const).map((rule) => discreteResponse(buildProgram(document, { rateHz, rule }), frequencies)
      .map(({ re, im }, k) => 20 * Math.log10(Math.hypot(re, im) / Math.hypot(exact[k]!.re, exact[k]!.im))));
    const [t1, t12, t24] = changesDb as [number[], number[], number[]];
    // The bilinear transform, |H| = 1/√(1 + (2τ/h tan(ωh/2))²), in closed form.
    const bilinear = (hz: number): number => 1 / Math.sqrt(1 + (2e-5 * rateHz * Math.tan((Math.PI * hz) / rateHz)) ** 2);
    frequencies.forEach((hz, k) => expectWithin(t1[k]!, 20 * Math.log10(bilinear(hz) / Math.hypot(exact[k]!.re, exact[k]!.im)), 1e-9));
    for (const combined of [t12, t24]) {
      expect(Math.abs(combined[0]!)).toBeLessThan(Math.abs(t1[0]!) / 10);
      expect(combined[1]!).toBeGreaterThan(0.1);
    }
  });
});
