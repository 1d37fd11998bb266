// The response of the program as it runs: what a small tone measures, and what the analogue circuit has, up to the rule's warping.
import { describe, expect, it } from 'vitest';
import { assembleCircuit, buildProgram, discreteResponse, exactResponse, findOperatingPoint, linearStepOf, measureCircuit } from '../../dsp/circuit/index.ts';
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
