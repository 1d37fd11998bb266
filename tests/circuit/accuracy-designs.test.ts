// What tests/support/documents.ts says of the circuits on which accuracy and speed are judged.
import { describe, expect, it } from 'vitest';
import { buildProgram, measureCircuit } from '../../dsp/circuit/index.ts';
import type { CircuitProgram, SteadyMeasurement } from '../../dsp/circuit/index.ts';
import { circuitDesigns, nearClassBDesign } from '../support/documents.ts';
import { crossing } from '../support/measured.ts';
import { expectWithin, rateHz } from './support.ts';

const orders = [2, 3, 4, 5, 6, 7, 8, 9];

function steady(program: CircuitProgram, peakVolts: number): SteadyMeasurement {
  const measured = measureCircuit(program, { frequencyHz: 1000, peakVolts, orders });
  if (measured.oscillates) throw new Error(`oscillates, spectral radius ${measured.spectralRadius}`);
  return measured;
}

describe.each([...circuitDesigns, nearClassBDesign])('$name', (design) => {
  const program = buildProgram(design.document(), { rateHz, nominalPeakVolts: design.nominalPeakVolts });

  it('is the circuit it is said to be', () => {
    expect(program.topology.portCount).toBe(design.ports);
    expect(program.topology.stateCount).toBe(design.states);
    const { fundamental, thd, solver } = steady(program, design.nominalPeakVolts);
    expectWithin(20 * Math.log10(fundamental.peakVolts / design.nominalPeakVolts), design.gainDb, 0.01, 'gain, dB');
    expect(thd.f).toBeLessThan(0.008);
    expect(solver.capHits).toBe(0);
    expect(solver.spectralRadius).toBeLessThan(1);
  });

  it('clips where it is said to', () => {
    const distortion = (peakVolts: number): number => Math.log(steady(program, peakVolts).thd.f / 0.01);
    let high = design.nominalPeakVolts;
    while (distortion(high) < 0) high *= 1.3;
    const level = crossing(distortion, high / 1.3, high, 1e-3 * high);
    expectWithin(steady(program, level).fundamental.peakVolts / design.onePercentPeakVolts, 1, 0.005, 'output at 1 %, of what is said');
  });
});
