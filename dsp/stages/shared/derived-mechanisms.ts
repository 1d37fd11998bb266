/** What makes harmonics in a circuit of which nobody has said it: device by device, and its capacitors together. */
import { assembleCircuit, circuitAtRest, exactResponse, findOperatingPoint, withoutParts } from '../../circuit/index.ts';
import type { CircuitAtRest, CircuitDocument, Component, DevicePart } from '../../circuit/index.ts';
import { ratioToDecibels } from '../../math/index.ts';
import type { Mechanism } from '../contract.ts';
import { biasShift, coreOfWinding, earlyEffect, exponential, linearDevices, linearPart, saturation } from './mechanisms.ts';

/** A capacitor whose holding moves the small signals at 1 kHz by more is no coupling or bypass: it has its corner in the band. */
const heldDecibels = 0.1;
const heldHz = 1000;

/** Throws CircuitError for a circuit without an operating point. */
export function derivedMechanisms(document: CircuitDocument): readonly Mechanism[] {
  const ofDevices = document.components.flatMap(mechanismsOf);
  if (ofDevices.length === 0) return [];
  const held = couplingCapacitors(circuitAtRest(document));
  return held.length === 0 ? ofDevices : [...ofDevices, biasShift(...held)];
}

const idOf = (...words: readonly string[]): string => words.join('-').toLowerCase().replaceAll(/[^a-z0-9]+/g, '-');

function mechanismsOf(component: Component): readonly Mechanism[] {
  const { name } = component;
  const part = (what: DevicePart, label: string, sentence: string): Mechanism => linearPart({ id: idOf(name, what), label, sentence }, what, name);
  const whole = (what: string, label: string, sentence: string): readonly Mechanism[] => [linearDevices({ id: idOf(name, what), label, sentence }, name)];
  switch (component.kind) {
    case 'bipolar':
    case 'forward-bipolar': return [
      exponential(idOf(name, 'exponential'), `exponential of ${name}`, name),
      ...(component.earlyVolts === null ? [] : [earlyEffect(idOf(name, 'early'), `Early effect of ${name}`, name)]),
      ...(component.kind === 'bipolar' ? [saturation(idOf(name, 'saturation'), `rail: ${name} saturates`, name)] : []),
    ];
    case 'field-effect':
    case 'forward-field-effect': return [
      part('square-law', `square law of ${name}`, `The current of ${name} follows the gate voltage along its tangent at rest: no square, no cut-off.`),
      ...(component.lambdaPerVolt === 0 ? [] : [part('modulation', `channel-length modulation of ${name}`, `The drain voltage of ${name} acts through a constant output resistance.`)]),
      ...(component.kind === 'field-effect' ? [part('ohmic', `rail: ${name} leaves pinch-off`, `${name} stays pinched off at any drain voltage.`)] : []),
      ...(component.kind === 'field-effect' && component.gateSaturationAmperes !== null ? [part('gate', `gate of ${name} conducts`, `The junctions of the gate of ${name} are taken away.`)] : []),
    ];
    case 'triode': return [
      part('anode', `three-halves law of ${name}`, `The anode current of ${name} follows grid and anode along its tangent at rest: no three-halves law, no cut-off.`),
      ...(component.gridPerveance === null ? [] : [part('grid', `grid current of ${name}`, `The grid of ${name} draws no current beyond its tangent at rest.`)]),
    ];
    case 'diode': return whole('diode', `exponential of ${name}`, `${name} becomes its tangent at rest: a resistance, or nothing where it does not conduct.`);
    case 'tanh-transconductor': return whole('tanh', `limit of ${name}`, `${name} steers without limit along its slope at rest.`);
    case 'product-transconductor': return whole('product', `product of ${name}`, `${name} follows each of its two voltages in proportion, not their product.`);
    case 'core': return [{ ...coreOfWinding(name), id: idOf(name, 'core') }];
    default: return [];
  }
}

function couplingCapacitors(rest: CircuitAtRest): readonly string[] {
  if (rest.system.inputBranch < 0) return [];
  const decibels = (document: CircuitDocument): number => {
    const system = assembleCircuit(document);
    const { re, im } = exactResponse(system, findOperatingPoint(system), [heldHz])[0]!;
    return ratioToDecibels(Math.sqrt(re * re + im * im));
  };
  const whole = decibels(rest.document);
  return rest.document.components.flatMap(({ kind, name }) => {
    if (kind !== 'capacitor') return [];
    return Math.abs(decibels(withoutParts(rest, [{ kind: 'hold', capacitors: [name] }])) - whole) <= heldDecibels ? [name] : [];
  });
}
