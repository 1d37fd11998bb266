/** Any values a table allows, all at once: the circuit has an operating point and runs, or the stage refuses with a reason. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { CircuitError } from '../../dsp/circuit/index.ts';
import { createStageRunner, stages } from '../../dsp/stages/index.ts';
import type { Parameter } from '../../dsp/stages/index.ts';
import { noise, sine, sum } from './support/signals.ts';
import { rateHz } from './support/tone.ts';

function anyValue(parameter: Parameter): fc.Arbitrary<number | string> {
  if (parameter.kind === 'choice') return fc.constantFrom(...parameter.options.map((option) => option.id));
  const { minimum, maximum, taper } = parameter;
  const at = (share: number): number => Math.min(maximum, Math.max(minimum,
    taper === 'logarithmic' ? minimum * (maximum / minimum) ** share : minimum + share * (maximum - minimum)));
  return fc.double({ min: 0, max: 1, noNaN: true }).map(at);
}

const input = sum(sine(600, 1000, 3), noise(600, 1, 3));

describe.each(stages.map((stage) => ({ id: stage.id, stage })))('$id', ({ stage }) => {
  const anyValues = fc.record(Object.fromEntries(stage.parameters.map((parameter) => [parameter.id, anyValue(parameter)])));

  it('runs with any values of its table', () => {
    fc.assert(fc.property(anyValues, (values) => {
      const refusal = stage.refuse(values);
      if (refusal !== null) return refusal.length > 20;
      try {
        const program = stage.program(values, { rateHz, source: null });
        const runner = createStageRunner(program, 1);
        const buffer = Float64Array.from(input);
        runner.process([buffer], 0, buffer.length);
        expect(buffer.every((y) => Number.isFinite(y))).toBe(true);
        expect(runner.counters.nonFinite).toBe(0);
        for (const { label, value } of stage.report(values, program).readings) expect(Number.isFinite(value), label).toBe(true);
      } catch (error) {
        // Nothing but a named circuit error may be thrown.
        if (!(error instanceof CircuitError)) throw error;
        throw new Error(`${error.message}`, { cause: error });
      }
      return true;
    }), { seed: 20261125, numRuns: 40 });
  });
});
