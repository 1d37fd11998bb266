// Circuits made to oscillate or to tip over; at other values they are sound.
import { capacitor, documentFile, input, parsedOf, resistor, source } from './circuits.ts';
import type { Part } from './circuits.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';

/** The op-amp loop with a build-out of 100 Ω inside its feedback, a load capacitance behind that and 1 nF at its inverting input: three poles. */
export function unstableOpAmpLoop(loadFarads: number): CircuitDocument {
  return documentFile('op-amp-loop', (parts) => [
    ...parts.map((part) => {
      switch (part['name']) {
        case 'CL': return { ...part, between: ['o2', 'ground'], farads: loadFarads };
        case 'RL': return { ...part, between: ['o2', 'ground'] };
        case 'RF': return { ...part, between: ['o2', 'n'] };
        case 'CN': return { ...part, farads: 1e-9 };
        default: return part;
      }
    }),
    resistor('RO', 'o', 'o2', 100),
  ]);
}

const transconductor = (name: string, out: readonly [string, string], from: readonly [string, string], scaleVolts: number): Part => ({
  kind: 'tanh-transconductor', name, out, in: from, maxAmperes: 1e-3, scaleVolts,
});

/** Two inverting transconductors of 1 mS in a ring, 100 nF at each node; the input through 100 kΩ into the first. */
export function transconductorPair(ohms: number): CircuitDocument {
  return parsedOf([
    input('in'), resistor('RI', 'in', 'a', 100e3), resistor('RA', 'a', 'ground', ohms), resistor('RB', 'b', 'ground', ohms),
    capacitor('CA', 'a', 'ground', 100e-9), capacitor('CB', 'b', 'ground', 100e-9),
    transconductor('G1', ['ground', 'a'], ['b', 'ground'], 1), transconductor('G2', ['ground', 'b'], ['a', 'ground'], 1),
  ], ['a', 'ground']);
}

/** A resonant circuit of 1.6 kHz kept going by a current that rises with its voltage. */
export function resonantCircuit(maxAmperes: number): CircuitDocument {
  return parsedOf([
    input('in'), resistor('RS', 'in', 'x', 10_000), { kind: 'inductor', name: 'L1', between: ['x', 'ground'], henries: 0.1 }, capacitor('C1', 'x', 'ground', 1e-6),
    { ...transconductor('G1', ['x', 'ground'], ['x', 'ground'], 1), maxAmperes },
  ], ['x', 'ground']);
}

/** Two transistors, each collector on the other's base, with capacitance at one base or at both: at rest exactly between its two states. */
export function latchingPair(baseFarads: number, bases: 1 | 2 = 2): CircuitDocument {
  const npn = (name: string, collector: string, base: string): Part => ({
    kind: 'bipolar', name, polarity: 'npn', collector, base, emitter: 'ground', saturationAmperes: 1e-14, forwardBeta: 300, reverseBeta: 1, earlyVolts: 100,
  });
  return parsedOf([
    input('in'), resistor('RI', 'in', 'b1', 100e3), resistor('RJ', 'b2', 'ground', 100e3), npn('Q1', 'c1', 'b1'), npn('Q2', 'c2', 'b2'),
    resistor('RC1', 'vcc', 'c1', 1000), resistor('RC2', 'vcc', 'c2', 1000), resistor('R12', 'c1', 'b2', 10e3), resistor('R21', 'c2', 'b1', 10e3),
    capacitor('C1', 'b1', 'ground', baseFarads), ...(bases === 2 ? [capacitor('C2', 'b2', 'ground', baseFarads)] : []), source('VCC', 'vcc', 'ground', 5),
  ], ['c1', 'ground']);
}

/**
 * A phase-shift loop (three low-passes of 10 kΩ and 1 nF; it oscillates at a gain above 8) whose pair has a crossover: the gain is 5.8 at rest and above 8 where the signal has left the middle.
 */
export function crossoverLoop(): CircuitDocument {
  const thermal = 2 * 0.0258649;
  const apart = 1.5 * thermal;
  const follower = (name: string, from: string, to: string): Part => ({ kind: 'amplifier', name, out: [to, 'ground'], in: [from, 'ground'], gain: 1 });
  return parsedOf([
    input('g'), resistor('RG', 'g', 'ground', 1000), source('VU', 'gu', 'g', apart), source('VL', 'g', 'gl', apart),
    transconductor('G1', ['a', 'ground'], ['gu', 'd'], thermal), transconductor('G2', ['a', 'ground'], ['gl', 'd'], thermal),
    resistor('RA', 'a', 'ground', (16 * thermal) / 1e-3), follower('A1', 'a', 'a2'),
    resistor('R1', 'a2', 'b', 10e3), capacitor('C1', 'b', 'ground', 1e-9), follower('A2', 'b', 'b2'),
    resistor('R2', 'b2', 'c', 10e3), capacitor('C2', 'c', 'ground', 1e-9), follower('A3', 'c', 'c2'),
    resistor('R3', 'c2', 'd', 10e3), capacitor('C3', 'd', 'ground', 1e-9),
  ], ['d', 'ground']);
}
