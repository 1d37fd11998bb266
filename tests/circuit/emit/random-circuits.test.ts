// Circuits nobody drew: whatever the wiring, the kernel emitted for it equals the loop.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { buildProgram } from '../../../dsp/circuit/build-program.ts';
import type { CircuitDocument, CircuitProgram } from '../../../dsp/circuit/index.ts';
import { CircuitError } from '../../../dsp/circuit/document-errors.ts';
import { installCompiledCode } from '../../../ui/command-line/compiled-code.ts';
import { rateHz } from '../support.ts';
import { compareBackEnds } from './compare-back-ends.ts';
import { randomCircuit } from './random-circuits.ts';
import { unlikeChannels } from './signals.ts';

installCompiledCode();
const seed = 20261125;
const runs = 300;

/** Null where the circuit is unsound. */
function programOf(document: CircuitDocument): CircuitProgram | null {
  try {
    return buildProgram(document, { rateHz });
  } catch (error) {
    if (error instanceof CircuitError) return null;
    throw error;
  }
}

describe('random circuits', () => {
  it(`${runs} of them give the same bits in both back ends`, () => {
    const accepted = { circuits: 0, merged: 0, shifted: 0, rescued: 0, capped: 0, mostPorts: 0 };
    const kinds = new Set<string>();
    fc.assert(fc.property(randomCircuit, fc.nat(1000), (document, signalSeed) => {
      const program = programOf(document);
      if (program === null) return;
      const { difference, report } = compareBackEnds(program, unlikeChannels(160, 2, seed + signalSeed), { longestBlock: 90 });
      expect(difference).toBeNull();
      const { portCount, controlCount, shifted } = program.topology;
      accepted.circuits += 1;
      if (portCount < controlCount) accepted.merged += 1;
      if (shifted) accepted.shifted += 1;
      if (report.rescues.some((count) => count > 0)) accepted.rescued += 1;
      if (report.capHits.some((count) => count > 0)) accepted.capped += 1;
      accepted.mostPorts = Math.max(accepted.mostPorts, portCount);
      for (const { kind } of document.components) kinds.add(kind);
    }), { seed, numRuns: runs });
    expect(accepted.circuits).toBeGreaterThan(0.6 * runs);
    expect(accepted.merged).toBeGreaterThan(10);
    expect(accepted.rescued).toBeGreaterThan(10);
    expect(accepted.shifted).toBeGreaterThan(10);
    expect(accepted.mostPorts).toBeGreaterThanOrEqual(8);
    expect(kinds.size).toBe(19);
  });
});
