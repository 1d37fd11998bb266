/**
 * The five circuits on which accuracy and speed are judged, and what they are as designs. All numbers are those of our own solver at 27 °C; tests/circuit/accuracy-designs.test.ts
 * keeps them true.
 */
import { documentFile } from './circuits.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';

export interface CircuitDesign {
  /** Of its file in tests/circuit/documents, and of its row wherever figures are printed. */
  readonly name: string;
  /** Of the input: about +4 dBu at the output (the pair into 8 Ω: 2 W). */
  readonly nominalPeakVolts: number;
  readonly ports: number;
  readonly states: number;
  /** From input to output at nominal level, 1 kHz. */
  readonly gainDb: number;
  /** Of the output, where 1 kHz has 1 % of distortion (H2–H9) on the way into clipping. */
  readonly onePercentPeakVolts: number;
  /** The most an output can be, volts from ground, whatever comes in: the supplies, and what reactances add to them; null where junctions let the input through to it. */
  readonly furthestVolts: number | null;
  document(): CircuitDocument;
}

const fromFile = (name: string) => ({ name, document: () => documentFile(name) });

/** Into `loadOhms` instead of its 600; `biasVolts` of each half of the output pair instead of its 0.7 (0.65 mA at rest). */
export const opAmpLoopInto = (loadOhms: number, biasVolts = 0.7): CircuitDocument => documentFile('op-amp-loop', (parts) => parts.map((part) => {
  if (part['name'] === 'RL') return { ...part, ohms: loadOhms };
  return part['name'] === 'VB1' || part['name'] === 'VB2' ? { ...part, volts: biasVolts } : part;
}));

export const circuitDesigns: readonly CircuitDesign[] = [
  // 24 V, 4.4 mA, collector at 14.4 V; 180 of its 650 Ω in the emitter are not bypassed. From 600 Ω into 10 kΩ and 1 nF. Cut-off at +7.7 V of output, saturation at −10.6 V.
  { ...fromFile('common-emitter'), nominalPeakVolts: 0.18, ports: 2, states: 4, gainDb: 19.2, onePercentPeakVolts: 6.44, furthestVolts: null },
  // ±15 V, 6.4 mA at rest (thermally coupled, no emitter resistors), crossover 1.6 % at worst; 13 W into 8 Ω.
  { ...fromFile('push-pull-pair'), nominalPeakVolts: 6, ports: 2, states: 2, gainDb: -0.38, onePercentPeakVolts: 15.23, furthestVolts: 15.5 },
  // Pair of 30 µA into 30 pF: gain-bandwidth 3.1 MHz, slew rate 1 V/µs, 95 dB at low frequency; node limited to ±13.5 V, pair at 0.65 mA, ±15 V into 600 Ω.
  { ...fromFile('op-amp-loop'), nominalPeakVolts: 0.87, ports: 4, states: 4, gainDb: 6.02, onePercentPeakVolts: 13.69, furthestVolts: 15.5 },
  // The same with 18 times the current, 0.4 A at most.
  { name: 'op-amp-loop-33', document: () => opAmpLoopInto(33), nominalPeakVolts: 0.87, ports: 4, states: 4, gainDb: 6.02, onePercentPeakVolts: 13.62, furthestVolts: 15.5 },
  // Pair of 2.1 mA, second stage of 6 mA, pair at 0.5 mA, ±18 V; gain-bandwidth 6.4 MHz, slew rate 21 V/µs, gain 4.9 before the build-out of 47 Ω. 600 Ω and 1 nF.
  { ...fromFile('five-transistor'), nominalPeakVolts: 0.385, ports: 8, states: 5, gainDb: 13.06, onePercentPeakVolts: 16.23, furthestVolts: null },
  // Driver limited to ±120 mA, 150 Ω of its own; 68 Ω of build-out, 2 × 50 Ω and 10 H of windings, 1 mH of leakage; 30 nF of line and 10 kΩ. Rings at 21 kHz, so the output can pass the driver's 18 V.
  { ...fromFile('transformer-line'), nominalPeakVolts: 1.74, ports: 1, states: 5, gainDb: -0.29, onePercentPeakVolts: 17.65, furthestVolts: 25 },
];

/** The hardest case known for an integration rule: 0.11 mA at rest and 53 mA of peak into 33 Ω cross over in 0.1 µs, far inside the finest step. No part of the speed figures. */
export const nearClassBDesign: CircuitDesign = {
  name: 'op-amp-loop-33-near-b', document: () => opAmpLoopInto(33, 0.654), nominalPeakVolts: 0.87, ports: 4, states: 4, gainDb: 6.02, onePercentPeakVolts: 13.57, furthestVolts: 15.5,
};

export function circuitDesign(name: string): CircuitDesign {
  const found = [...circuitDesigns, nearClassBDesign].find((design) => design.name === name);
  if (found === undefined) throw new Error(`expected one of ${circuitDesigns.map((design) => design.name).join(', ')}, got ${name}`);
  return found;
}
