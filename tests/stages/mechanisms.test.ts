import { describe, expect, it } from 'vitest';
import { buildProgram, circuitAtRest, withoutParts } from '../../dsp/circuit/index.ts';
import type { CircuitRemoval } from '../../dsp/circuit/index.ts';
import { defaultValues, derivedMechanisms, stageById, stages } from '../../dsp/stages/index.ts';
import type { Mechanism, StageValues } from '../../dsp/stages/index.ts';
import { documentFile } from '../support/circuits.ts';

/** Default values, and those of choices that wire something else. */
const variants: readonly [string, StageValues][] = [
  ...stages.map((stage): [string, StageValues] => [stage.id, defaultValues(stage)]),
  ['push-pull', { ...defaultValues(stageById('push-pull')), thermal: 'on' }],
  ['op-amp-discrete', { ...defaultValues(stageById('op-amp-discrete')), outputKind: 'complementary', connection: 'inverting' }],
  ['microphone-input', { ...defaultValues(stageById('microphone-input')), input: 'transformer' }],
  ['line', { ...defaultValues(stageById('line')), driving: 'transformer' }],
  ['transformer-output', { ...defaultValues(stageById('transformer-output')), core: 'ideal' }],
];

const circuitRemovals = (mechanisms: readonly Mechanism[]): CircuitRemoval[] => mechanisms.flatMap(({ removal }) => (removal.kind === 'circuit' ? removal.of : []));
const bending = (removals: readonly CircuitRemoval[]): CircuitRemoval[] => removals.filter(({ kind }) => kind === 'tangent');

describe('what stages declare', () => {
  it.each(variants)('%s: names and sentences; each can be taken away, and all together leave nothing that bends', (id, values) => {
    const stage = stageById(id);
    const mechanisms = stage.mechanisms(values);
    expect(new Set(mechanisms.map((mechanism) => mechanism.id)).size).toBe(mechanisms.length);
    for (const mechanism of mechanisms) {
      expect(mechanism.id).toMatch(/^[a-z][a-z0-9]*(-[a-z0-9]+)*$/);
      expect(mechanism.label.length).toBeGreaterThan(3);
      expect(mechanism.label.length).toBeLessThanOrEqual(40);
      expect(mechanism.sentence).toMatch(/^[A-Z].*\.$/);
    }
    const document = stage.circuit(values, null);
    if (document === null) {
      expect(circuitRemovals(mechanisms)).toEqual([]);
      return;
    }
    const rest = circuitAtRest(document);
    for (const removal of circuitRemovals(mechanisms)) expect(withoutParts(rest, [removal]).components).not.toEqual(document.components);
    const linear = withoutParts(rest, bending(circuitRemovals(mechanisms)));
    expect(buildProgram(linear, { rateHz: 384e3 }).topology.portCount).toBe(0);
  });

  it('none where nothing bends: the linear equaliser, a line without a transformer, an ideal core', () => {
    expect(stageById('equaliser').mechanisms(defaultValues(stageById('equaliser')))).toEqual([]);
    expect(stageById('line').mechanisms(defaultValues(stageById('line')))).toEqual([]);
    expect(stageById('transformer-output').mechanisms({ ...defaultValues(stageById('transformer-output')), core: 'ideal' })).toEqual([]);
  });

  it('the shaping stage declares the terms it has', () => {
    const stage = stageById('harmonic-shaping');
    expect(stage.mechanisms(defaultValues(stage)).map(({ id }) => id)).toEqual(['second-order', 'third-order', 'ceiling']);
    expect(stage.mechanisms({ ...defaultValues(stage), secondSign: 'off', thirdSign: 'off' })).toEqual([]);
    expect(stage.mechanisms(defaultValues(stage))[1]!.removal).toEqual({ kind: 'values', values: { thirdSign: 'off' } });
  });
});

describe('what is derived from a circuit', () => {
  it('every part of every device, and the capacitors that couple and bypass', () => {
    const document = documentFile('one-transistor');
    const mechanisms = derivedMechanisms(document);
    expect(mechanisms.map(({ id }) => id)).toEqual(['q1-exponential', 'q1-early', 'q1-saturation', 'bias-shift']);
    // C1 of 1 µF couples; CL of 100 pF shunts the collector, and held it would short it.
    expect(mechanisms[3]!.removal).toEqual({ kind: 'circuit', of: [{ kind: 'hold', capacitors: ['C1'] }] });
  });

  it.each(['five-transistor', 'push-pull', 'op-amp-loop', 'single-ended-field-effect', 'single-ended-valve', 'transformer-core'])('%s: all together leave nothing that bends', (name) => {
    const document = documentFile(name);
    const linear = withoutParts(circuitAtRest(document), bending(circuitRemovals(derivedMechanisms(document))));
    expect(buildProgram(linear, { rateHz: 384e3 }).topology.portCount).toBe(0);
  });
});
