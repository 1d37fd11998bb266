/** The feedback loop of an op-amp stage at rest: gain, crossing, margin, what charges the compensation, how far the output goes. */
import { CircuitError, assembleCircuit, findOperatingPoint, loopGainOf, loopProbeName, outputImpedance, phaseMargin, withLoopProbe } from '../../circuit/index.ts';
import type { CircuitDocument, CircuitSystem, Complex, Component, LoopCrossing } from '../../circuit/index.ts';
import type { LoopProbe } from '../contract.ts';

/** Frequencies between which a crossing is looked for, Hz. */
const lowestHz = 1000;
const highestHz = 3e9;
/** Below this share of the crossing the gain falls as that of an integrator, and times the frequency gives the gain-bandwidth. */
const slopeShare = 0.1;

export interface OpAmpLoop {
  /** In the sign of negative feedback. */
  gain(hz: number): Complex;
  /** Null where the loop's gain never falls through 1: an output that rests at a rail. */
  readonly crossing: LoopCrossing | null;
  /** Gain of the amplifier without feedback × frequency, on the slope, Hz; NaN without a crossing. */
  readonly gainBandwidthHz: number;
}

const size = ({ re, im }: Complex): number => Math.sqrt(re * re + im * im);

/** The feedback is all that passes through RF. */
export const opAmpLoopProbe: LoopProbe = { component: 'RF', node: 'amplifier' };

/** The loop that closes through RF at the node "amplifier". Throws `CircuitError` where there is no operating point. */
export function opAmpLoop(document: CircuitDocument, noiseGain: number): OpAmpLoop {
  // The probe is a wire: the point is that of the circuit without it.
  const point = findOperatingPoint(assembleCircuit(document));
  const gain = loopGainOf(assembleCircuit(withLoopProbe(document, opAmpLoopProbe.component, opAmpLoopProbe.node)), point, loopProbeName);
  const crossing = phaseMargin(gain, lowestHz, highestHz);
  const hz = crossing === null ? NaN : crossing.hz * slopeShare;
  return { gain, crossing, gainBandwidthHz: crossing === null ? NaN : size(gain(hz)) * hz * noiseGain };
}

/** A document with some of its components changed. */
export function withChanged(document: CircuitDocument, change: (component: Component) => Component): CircuitDocument {
  return { ...document, components: document.components.map(change) };
}

/** With more capacitance at its load. */
export function withLineFarads(document: CircuitDocument, farads: number): CircuitDocument {
  return withChanged(document, (component) => (component.name === 'CL' && component.kind === 'capacitor' ? { ...component, farads: component.farads + farads } : component));
}

/** Volts at the node "out" with this voltage at the input, at direct current; null where no operating point is found. */
export function outputVoltsAt(system: CircuitSystem, inputVolts: number): number | null {
  try {
    return findOperatingPoint(system, inputVolts).outputVolts;
  } catch (error) {
    if (error instanceof CircuitError) return null;
    throw error;
  }
}

/** The furthest the output goes either way, V at the load, from direct currents far past the rails. */
export function outputSwing(document: CircuitDocument, overdriveVolts: number): { readonly up: number; readonly down: number } {
  const system = assembleCircuit(document);
  const ends = [overdriveVolts, -overdriveVolts].map((volts) => outputVoltsAt(system, volts) ?? 0);
  return { up: Math.max(0, ...ends), down: Math.max(0, ...ends.map((volts) => -volts)) };
}

/** Slew rates of the amplifier's own output, V/s. */
export interface SlewRates {
  readonly rising: number;
  readonly falling: number;
}

/**
 * What charges the compensation when the pair is steered as far as it goes, over the capacitance: the capacitor is held at its rest voltage and its current
 * read with ±`overdriveVolts` at the input. `farads`: of compensation and what lies beside it; `inverts`: whether a rising input lowers the output.
 */
export function slewRates(document: CircuitDocument, overdriveVolts: number, farads: number, inverts: boolean): SlewRates {
  const rest = assembleCircuit(document);
  const { w } = findOperatingPoint(rest);
  const volts = (node: string): number => w[rest.nodeNames.indexOf(node)]!;
  const held = assembleCircuit(withChanged(document, (component) => (component.name === 'CC' && component.kind === 'capacitor'
    ? { kind: 'voltage-source', name: component.name, between: component.between, volts: volts(component.between[0]) - volts(component.between[1]) } : component)));
  const branch = held.nodeNames.length + held.branchNames.indexOf('CC');
  const amperesAt = (input: number): number => findOperatingPoint(held, input).w[branch]!;
  const up = amperesAt(inverts ? -overdriveVolts : overdriveVolts);
  const down = amperesAt(inverts ? overdriveVolts : -overdriveVolts);
  return { rising: up / farads, falling: -down / farads };
}

/** Supply current at rest, A: what flows out of the source VCC. */
export function supplyAmperes(document: CircuitDocument): number {
  const system = assembleCircuit(document);
  return -findOperatingPoint(system).w[system.nodeNames.length + system.branchNames.indexOf('VCC')]!;
}

/** Impedance of the closed loop at the node "amplifier", build-out and load taken off, Ω. */
export function closedLoopOhms(document: CircuitDocument, frequenciesHz: readonly number[]): Complex[] {
  const bare = assembleCircuit({
    ...document, components: document.components.filter(({ name }) => !['RO', 'RL', 'CL'].includes(name)), output: ['amplifier', 'ground'],
  });
  return outputImpedance(bare, findOperatingPoint(bare), frequenciesHz);
}
