import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { buildProgram, listeningTolerance, parseCircuitDocument, traceSamples } from '../../dsp/circuit/index.ts';
import type { CircuitProgram } from '../../dsp/circuit/index.ts';
import { ChannelSolver } from '../../dsp/circuit/solver.ts';
import { createSolverReport } from '../../dsp/circuit/solver-report.ts';
import { capacitor, input, parsedOf, resistor } from '../support/circuits.ts';

function programOf(name: string): CircuitProgram {
  return buildProgram(parseCircuitDocument(JSON.parse(readFileSync(new URL(`documents/${name}.json`, import.meta.url), 'utf8'))), { rateHz: 384_000 });
}

/** A jump, a tone, a jump back. */
const inputs = Array.from({ length: 60 }, (_, k) => (k < 20 ? 0.3 : 0.3 * Math.sin(k / 4)));

describe.each(['one-transistor', 'push-pull', 'single-ended-valve'])('a traced %s', (name) => {
  const program = programOf(name);
  const traces = traceSamples(program, 0, inputs, listeningTolerance);

  it('gives the bits of the solver that is not watched', () => {
    const solver = new ChannelSolver(program, createSolverReport(1), 0);
    solver.tolerance = listeningTolerance;
    const buffer = Float64Array.from(inputs);
    solver.run(buffer, 0, buffer.length);
    expect(traces.map(({ outputVolts }) => outputVolts)).toEqual([...buffer]);
    expect(traces.at(-1)!.states).toEqual([...solver.signal.subarray(1, 1 + program.topology.stateCount)]);
  });

  it('has one pass more than evaluations, the last one within the tolerance and only that', () => {
    expect(traces.some(({ evaluations }) => evaluations > 1)).toBe(true);
    for (const { passes, evaluations, rescued } of traces) {
      expect(rescued).toBe(false);
      expect(passes).toHaveLength(evaluations + 1);
      passes.forEach(({ error }, k) => expect(error < listeningTolerance).toBe(k === evaluations));
    }
  });

  it('has steps that solve (I − K J) g = (p − x) + K i', () => {
    const { eliminationOrder, portCount } = program.topology;
    let checked = 0;
    for (const { passes } of traces) {
      for (const pass of passes) {
        const { matrix, residual, step } = pass;
        if (matrix === null) continue;
        for (let row = 0; row < portCount; row += 1) {
          const terms: readonly number[] = step.map((g, port) => matrix[row * portCount + port]! * g);
          const size = terms.reduce((sum, term) => sum + Math.abs(term), Math.abs(residual[row]!));
          const miss = terms.reduce((sum, term) => sum + term, -residual[row]!);
          // Elimination without exchanges of at most four rows: a few thousand roundings at the worst growth seen.
          if (!(Math.abs(miss) <= 1e-11 * size)) expect.fail(`row of x${eliminationOrder[row]! + 1}: ${miss} of ${size} left`);
          checked += 1;
        }
      }
    }
    expect(checked).toBeGreaterThan(20);
  });
});

it('a traced sample that left the numbers does not count the evaluation of the rest it goes on from', () => {
  // Nothing nonlinear, so nothing to evaluate; grows 19 times a sample.
  const growing = parsedOf([
    input('in'), resistor('RI', 'in', 'x', 10e3), capacitor('C', 'x', 'ground', 100e-12), { kind: 'amplifier', name: 'A', out: ['y', 'ground'], in: ['x', 'ground'], gain: 2.7 },
    resistor('RF', 'y', 'x', 10e3),
  ], ['x', 'ground']);
  const traces = traceSamples(buildProgram(growing, { rateHz: 384_000 }), 0, new Array<number>(300).fill(1));
  expect(Math.max(...traces.map(({ outputVolts }) => Math.abs(outputVolts)))).toBeGreaterThan(1e13);
  expect(Math.abs(traces.at(-1)!.outputVolts)).toBeLessThan(1e16);
  for (const { evaluations } of traces) expect(evaluations).toBe(0);
});

it('a traced sample says when it went to the rescue', () => {
  const program = programOf('push-pull');
  const traces = traceSamples(program, 0, [400, -400, 400, -400, 400], listeningTolerance);
  expect(traces.some(({ rescued }) => rescued)).toBe(true);
});
