import { describe, expect, it } from 'vitest';
import { buildProgram, chooseFrequency, cosineDrive, solveSteadyState, solveSteadyStateInSteps } from '../../dsp/circuit/index.ts';
import { installCompiledCode } from '../../ui/command-line/compiled-code.ts';
import { documentFile } from '../support/circuits.ts';

// Compiled, all of a thread work in the same memory.
installCompiledCode();

const rateHz = 384_000;

describe('a steady state in steps', () => {
  it('has the same bits whatever else is solved between its passes on the same thread', () => {
    const at = (peakVolts: number) => ({ input: cosineDrive(chooseFrequency(1000, rateHz), peakVolts) });
    const [emitter, core, loop, pair] = (['common-emitter', 'transformer-core', 'op-amp-loop', 'push-pull'] as const).map((name) => buildProgram(documentFile(name), { rateHz, rule: 'T24' }));
    // Two of them are of one program at different levels: they share the numbers that they run.
    const jobs = [[emitter!, at(0.3)], [core!, at(2)], [loop!, at(2)], [pair!, at(2)], [emitter!, at(0.01)]] as const;
    const alone = jobs.map(([program, wave]) => solveSteadyState(program, wave));
    const running = jobs.map(([program, wave]) => solveSteadyStateInSteps(program, wave));
    const together = running.map(() => null as ReturnType<typeof solveSteadyState> | null);
    let steps = 0;
    while (together.includes(null)) {
      running.forEach((job, k) => {
        if (together[k] !== null) return;
        const step = job.next();
        steps += 1;
        if (step.done) together[k] = step.value;
      });
    }
    expect(steps).toBeGreaterThan(20);
    together.forEach((steady, k) => {
      expect(steady!.output).toEqual(alone[k]!.output);
      expect(steady!.spectralRadius).toBe(alone[k]!.spectralRadius);
      expect(steady!.periods).toBe(alone[k]!.periods);
    });
  });

  it('lets go many times on the way through a long period', () => {
    const wave = { input: cosineDrive(chooseFrequency(20, rateHz), 1) };
    const program = buildProgram(documentFile('common-emitter'), { rateHz, rule: 'T24' });
    const steps = solveSteadyStateInSteps(program, wave);
    const began = performance.now();
    let longest = 0;
    let count = 0;
    let before = began;
    for (;;) {
      const { done } = steps.next();
      const now = performance.now();
      longest = Math.max(longest, now - before);
      before = now;
      count += 1;
      if (done) break;
    }
    expect(count).toBeGreaterThan(8);
    // No part is most of the work, whatever the machine is busy with.
    expect(longest / (before - began)).toBeLessThan(0.5);
  });
});
