/** Any values a table allows: a stage is an amplifier, never taken for an oscillator, and a tone through it has harmonics. */
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { buildProgram, chooseFrequency, CircuitError, cosineDrive, solveSteadyState } from '../../dsp/circuit/index.ts';
import type { CircuitDocument, CircuitProgram } from '../../dsp/circuit/index.ts';
import { growthAtRest } from '../../dsp/circuit/rest-growth.ts';
import { resolveValues, stageById, stages } from '../../dsp/stages/index.ts';
import type { Parameter } from '../../dsp/stages/index.ts';

/** Ends of the range a quarter of the time each. */
function anyValue(parameter: Parameter): fc.Arbitrary<number | string> {
  if (parameter.kind === 'choice') return fc.constantFrom(...parameter.options.map((option) => option.id));
  const { minimum, maximum, taper } = parameter;
  const between = (share: number): number => Math.min(maximum, Math.max(minimum, taper === 'logarithmic' ? minimum * (maximum / minimum) ** share : minimum + share * (maximum - minimum)));
  return fc.oneof({ arbitrary: fc.double({ min: 0, max: 1, noNaN: true }).map(between), weight: 2 }, { arbitrary: fc.constantFrom(minimum, maximum), weight: 2 });
}

/** Stages whose values reach a gain of 140 into a few volts of swing; waiting takes seconds. */
const overdriven = new Set(['op-amp-discrete', 'op-amp-integrated']);

/** Null where no operating point is found: the stage then says so, and tests of the operating point are elsewhere. */
function programOf(document: CircuitDocument, rateHz: number): CircuitProgram | null {
  try {
    return buildProgram(document, { rateHz });
  } catch (error) {
    if (!(error instanceof CircuitError)) throw error;
    return null;
  }
}

it.each(stages.map((stage) => [stage.id, stage] as const))('%s', (_, stage) => {
  const anyValues = fc.record(Object.fromEntries(stage.parameters.map((parameter) => [parameter.id, anyValue(parameter)])));
  fc.assert(fc.property(anyValues, fc.constantFrom(44_100, 192_000, 384_000, 768_000), (values, rateHz) => {
    if (stage.refuse(values) !== null) return;
    const document = stage.circuit(values, null);
    if (document === null) return;
    const program = programOf(document, rateHz);
    if (program === null) return;
    expect(growthAtRest(program, rateHz)).toBe(1);
    const frequency = chooseFrequency(rateHz / 96, rateHz);
    const { oscillates, method } = solveSteadyState(program, { input: cosineDrive(frequency, 1.7) });
    // A core that carries direct current remembers more than shooting's unknowns: it may be left to settle.
    // … and an amplifier of much loop gain, driven hundreds of times over its swing, may have to be waited for.
    const settles = method === 'settling' && (overdriven.has(stage.id) || document.components.some(({ kind }) => kind === 'core'));
    expect({ oscillates, method: settles ? 'shooting' : method }).toEqual({ oscillates: false, method: 'shooting' });
  }), { seed: 20261125, numRuns: overdriven.has(stage.id) ? 15 : 60 });
});

it.each([
  // Time constants of minutes to days beside a period of a tenth of a millisecond: differences of a period cannot tell them from standing still.
  ['single-ended-bipolar', 768_000, {
    padSeriesOhms: 10, padShuntOhms: 10, inputCouplingFarads: 0.01, upperDividerOhms: 1e7, lowerDividerOhms: 1e6, supplyVolts: 3, collectorOhms: 100, emitterOhms: 1, bypassedEmitterOhms: 1e5,
    bypassFarads: 0.1, forwardBeta: 20, earlyVolts: 1000, outputCouplingFarads: 1e-9, loadOhms: 100, loadFarads: 1e-6,
  }],
  ['single-ended-field-effect', 192_000, {
    padSeriesOhms: 10, padShuntOhms: 10, inputCouplingFarads: 1e-4, upperDividerOhms: 1e4, lowerDividerOhms: 1e8, supplyVolts: 3, drainOhms: 1e5, sourceOhms: 1, bypassedSourceOhms: 1e5,
    bypassFarads: 1e-9, thresholdVolts: -8, betaAmperesPerVolt2: 1e-4, lambdaPerVolt: 0, outputCouplingFarads: 0.01, loadOhms: 1e7, loadFarads: 1e-6,
  }],
] as const)('%s at %d Hz with couplings that take days', (id, rateHz, values) => {
  const stage = stageById(id);
  const program = buildProgram(stage.circuit(resolveValues(stage, values), null)!, { rateHz });
  const { oscillates, method, spectralRadius } = solveSteadyState(program, { input: cosineDrive(chooseFrequency(rateHz / 96, rateHz), 1.7) });
  expect({ oscillates, method }).toEqual({ oscillates: false, method: 'shooting' });
  expect(spectralRadius).toBeLessThan(1);
});
