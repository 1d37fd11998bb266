// Steady states on compiled kernels: the numbers of the readable loop, and what they cost.
import { afterEach, describe, expect, it } from 'vitest';
import { buildProgram, chooseFrequency, cosineDrive, solveSteadyState } from '../../dsp/circuit/index.ts';
import type { CircuitProgram, SteadyState } from '../../dsp/circuit/index.ts';
import { installWebAssembly } from '../../dsp/webassembly/index.ts';
import { installCompiledCode } from '../../ui/command-line/compiled-code.ts';
import { circuitDesigns } from '../support/documents.ts';
import { crossoverLoop } from '../support/unstable.ts';
import { rateHz } from './support.ts';

afterEach(() => { installWebAssembly(null); });

/** All of a solution but the number of passes, where a kernel does two columns at once. */
function numbersOf(steady: SteadyState): unknown {
  const { periods, ...rest } = steady;
  expect(periods).toBeGreaterThan(0);
  return rest;
}

/** Two levels, the second from the first. */
function solveTwice(program: CircuitProgram, peakVolts: number, frequencyHz: number): SteadyState[] {
  const frequency = chooseFrequency(frequencyHz, program.rateHz);
  const first = solveSteadyState(program, { input: cosineDrive(frequency, peakVolts), cycles: frequency.cycles });
  return [first, solveSteadyState(program, { input: cosineDrive(frequency, 3 * peakVolts), cycles: frequency.cycles }, { warmStart: first })];
}

describe('on a compiled kernel', () => {
  it.each(circuitDesigns)('$name: the same bits as in the loop, cold and warm-started', ({ document, nominalPeakVolts }) => {
    const program = buildProgram(document(), { rateHz, nominalPeakVolts });
    for (const frequencyHz of [1000, 10_000]) {
      const looped = solveTwice(program, nominalPeakVolts, frequencyHz);
      expect(installCompiledCode()).toBeNull();
      const compiled = solveTwice(program, nominalPeakVolts, frequencyHz);
      installWebAssembly(null);
      expect(compiled.map(numbersOf)).toStrictEqual(looped.map(numbersOf));
      // Two columns a pass: fewer passes.
      if (program.topology.stateCount > 1) expect(compiled[0]!.periods).toBeLessThan(looped[0]!.periods);
    }
  });

  it('the same where shooting fails and the circuit is waited for, and for periods longer than the memory\'s lanes', () => {
    const loop = buildProgram(crossoverLoop(), { rateHz });
    const long = buildProgram(circuitDesigns[0]!.document(), { rateHz });
    const both = (): SteadyState[] => [
      solveSteadyState(loop, { input: cosineDrive(chooseFrequency(8000, rateHz), 0.3) }),
      solveSteadyState(long, { input: cosineDrive(chooseFrequency(62.5, rateHz), 0.3) }),
    ];
    const looped = both();
    expect(looped.map(({ method, output }) => [method, output.length])).toEqual([['settling', 48], ['shooting', 6144]]);
    installCompiledCode();
    expect(both().map(numbersOf)).toStrictEqual(looped.map(numbersOf));
  });
});
