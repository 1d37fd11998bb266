/**
 * Two gain transistors and a class-A output device whose collector load is a gapped transformer primary; feedback from that collector to the input, which also sets the bias. A design of our own.
 * Q1 and Q2 invert, and so does Q3: the resistor from its collector to Q1's base feeds back with the right sign, for signals and for direct current alike, since the primary holds the collector
 * near the supply. The primary stands between supply and collector, so that the secondary has the input's polarity again. A second path, from Q3's emitter to Q1's, works at direct current alone and holds the quiescent current.
 */
import type { CircuitDocument, Component } from '../../circuit/index.ts';
import { log } from '../../math/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import { sourceNetwork } from '../shared/source-network.ts';
import { stageTemperatureC, stageThermalVolts } from '../shared/thermal-volts.ts';
import { coreOf, refuseDirectCurrent } from '../shared/transformer-core.ts';
import { magnetising, magnetisingHenries } from '../shared/transformer-parts.ts';
import { numbersOf } from '../shared/values.ts';

interface Transistor {
  readonly saturationAmperes: number;
  readonly forwardBeta: number;
  readonly earlyVolts: number;
}

/** Generic: two small-signal types and one for an ampere, at 27 °C. */
const first: Transistor = { saturationAmperes: 1e-14, forwardBeta: 300, earlyVolts: 100 };
const second: Transistor = { saturationAmperes: 1e-14, forwardBeta: 200, earlyVolts: 60 };
const output: Transistor = { saturationAmperes: 1e-13, forwardBeta: 120, earlyVolts: 100 };

/** Resistors, Ω, that are no parameters: collector of Q1, its emitter and the part of it that is bypassed away, emitter and collector of Q2, the halves of the direct path. */
const [collector1Ohms, emitter1Ohms, degenerationOhms, emitter2Ohms, collector2Ohms, directHalfOhms] = [1000, 220, 22, 100, 470, 200];
/** Bypass of Q1's emitter, and the direct path's capacitor, F. */
const [bypassFarads, directFarads] = [1000e-6, 470e-6];
/** Across the primary, so that the leakage does not leave the collector without a load at high frequencies. */
const [zobelOhms, zobelFarads] = [620, 4.7e-9];

const junctionVolts = ({ saturationAmperes }: Transistor, amperes: number, collectorVolts: number, earlyVolts: number): number =>
  stageThermalVolts * log(amperes / (saturationAmperes * (1 + collectorVolts / earlyVolts)));

/** What the bias is designed for. */
interface Bias {
  readonly baseVolts: number;
  readonly baseAmperes: number;
  readonly collectorVolts: number;
  /** Through the direct path, from Q3's emitter to Q1's. */
  readonly directAmperes: number;
}

/** From the output device back to the input, for a current in the direct path and a base voltage that a first pass finds; collector–base voltages to about a volt. */
function biasPass(values: StageValues, before: Pick<Bias, 'directAmperes' | 'baseVolts'>): Bias {
  const v = numbersOf(values);
  const iq = v('quiescentAmperes');
  const supply = v('supplyVolts');
  const collectorVolts = (supply - v('primaryOhms') * (iq - before.baseVolts / v('feedbackOhms'))) / (1 + v('primaryOhms') / v('feedbackOhms'));
  const early = (across: number, volts: number): number => 1 + across / volts;
  const across = collectorVolts - 1.2;
  const outputBaseAmperes = iq / (output.forwardBeta * early(across, output.earlyVolts));
  const outputEmitterVolts = (iq + outputBaseAmperes - before.directAmperes) * v('emitterOhms');
  const outputBaseVolts = outputEmitterVolts + junctionVolts(output, iq, across, output.earlyVolts);
  const secondAmperes = outputBaseVolts / collector2Ohms + outputBaseAmperes;
  const secondAcross = supply - 1 - outputBaseVolts;
  const secondBaseAmperes = secondAmperes / (second.forwardBeta * early(secondAcross, second.earlyVolts));
  const firstLoadVolts = (secondAmperes + secondBaseAmperes) * emitter2Ohms + junctionVolts(second, secondAmperes, secondAcross, second.earlyVolts);
  const firstAmperes = firstLoadVolts / collector1Ohms + secondBaseAmperes;
  const firstAcross = supply - firstLoadVolts - 1;
  const baseAmperes = firstAmperes / (first.forwardBeta * early(firstAcross, first.earlyVolts));
  const direct = 2 * directHalfOhms;
  const firstEmitterVolts = (firstAmperes + baseAmperes + outputEmitterVolts / direct) / (1 / emitter1Ohms + 1 / direct);
  return {
    baseVolts: firstEmitterVolts + junctionVolts(first, firstAmperes, firstAcross, first.earlyVolts),
    baseAmperes, collectorVolts, directAmperes: (outputEmitterVolts - firstEmitterVolts) / direct,
  };
}

function bias(values: StageValues): Bias {
  const start = biasPass(values, { directAmperes: 0, baseVolts: 1 });
  return biasPass(values, biasPass(values, start));
}

/** Resistor from Q1's base to ground that gives the quiescent current, Ω; not positive where the feedback resistor carries too little. */
export function biasOhms(values: StageValues): number {
  const { baseVolts, collectorVolts, baseAmperes } = bias(values);
  return baseVolts / ((collectorVolts - baseVolts) / numbersOf(values)('feedbackOhms') - baseAmperes);
}

/** Why these values cannot be used: a quiescent current that the core cannot carry. */
export function refuse(values: StageValues): string | null {
  return refuseDirectCurrent(coreDesign(values), numbersOf(values)('quiescentAmperes'), 'quiescentAmperes');
}

/** The gapped core. */
export function coreDesign(values: StageValues) {
  const v = numbersOf(values);
  return { primaryHenries: v('coreHenries'), gapHenries: v('gapHenries'), core: coreOf(values, v('coreHenries')) };
}

/** Inductance of the primary, core and gap together, H. */
export const primaryHenries = (values: StageValues): number => magnetisingHenries(coreDesign(values));

function transistor(name: string, polarity: 'npn' | 'pnp', [collector, base, emitter]: readonly [string, string, string], type: Transistor): Component {
  return { kind: 'bipolar', name, polarity, collector, base, emitter, ...type, reverseBeta: 1, baseOhms: 0, emitterCapacitanceFarads: 0, collectorCapacitanceFarads: 0 };
}

const resistor = (name: string, from: string, to: string, ohms: number): Component => ({ kind: 'resistor', name, between: [from, to], ohms });
const capacitor = (name: string, from: string, to: string, farads: number): Component => ({ kind: 'capacitor', name, between: [from, to], farads });

export function circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const v = numbersOf(values);
  const before = sourceNetwork(source);
  return {
    title: 'line amplifier',
    temperatureC: stageTemperatureC,
    components: [
      ...before.components,
      resistor('RIN', before.node, 'coupling', v('inputOhms')),
      capacitor('CIN', 'coupling', 'base-1', v('inputCouplingFarads')),
      resistor('RF', 'collector-3', 'base-1', v('feedbackOhms')),
      resistor('RB', 'base-1', 'ground', biasOhms(values)),
      transistor('Q1', 'npn', ['collector-1', 'base-1', 'emitter-1'], first),
      resistor('RC1', 'supply', 'collector-1', collector1Ohms),
      capacitor('CC', 'supply', 'collector-1', v('compensationFarads')),
      resistor('RE1', 'emitter-1', 'ground', emitter1Ohms),
      resistor('RD1', 'emitter-1', 'bypass', degenerationOhms),
      capacitor('CE1', 'bypass', 'ground', bypassFarads),
      resistor('RE2', 'supply', 'emitter-2', emitter2Ohms),
      transistor('Q2', 'pnp', ['base-3', 'collector-1', 'emitter-2'], second),
      resistor('RC2', 'base-3', 'ground', collector2Ohms),
      transistor('Q3', 'npn', ['collector-3', 'base-3', 'emitter-3'], output),
      resistor('RE3', 'emitter-3', 'ground', v('emitterOhms')),
      resistor('RG1', 'emitter-3', 'direct', directHalfOhms),
      resistor('RG2', 'direct', 'emitter-1', directHalfOhms),
      capacitor('CG', 'direct', 'ground', directFarads),
      { kind: 'voltage-source', name: 'VCC', between: ['supply', 'ground'], volts: v('supplyVolts') },
      resistor('RZ', 'supply', 'zobel', zobelOhms),
      capacitor('CZ', 'zobel', 'collector-3', zobelFarads),
      resistor('RP', 'supply', 'core', v('primaryOhms')),
      magnetising(coreDesign(values), ['core', 'collector-3']),
      { kind: 'inductor', name: 'LK', between: ['core', 'turns'], henries: v('leakageHenries') },
      { kind: 'ideal-transformer', name: 'T1', primary: ['turns', 'collector-3'], secondary: ['secondary', 'ground'], turnsRatio: 1 },
      resistor('RS', 'secondary', 'out', v('secondaryOhms')),
      capacitor('CL', 'out', 'ground', v('loadFarads')),
      resistor('RL', 'out', 'ground', v('loadOhms')),
    ],
    output: ['out', 'ground'],
  };
}
