/**
 * The component kinds of a circuit document, version 1: types alone, no logic. Every number carries its unit in its name.
 * A p-channel or pnp device is the mirror of its n-type twin (all voltages and currents negated) and keeps the same numbers.
 */

/** Two node names: voltages are counted from the first to the second, currents flow into the first. */
export type NodePair = readonly [string, string];

interface Named {
  readonly name: string;
}

export interface Resistor extends Named {
  readonly kind: 'resistor';
  readonly between: NodePair;
  readonly ohms: number;
}

export interface Capacitor extends Named {
  readonly kind: 'capacitor';
  readonly between: NodePair;
  readonly farads: number;
}

export interface Inductor extends Named {
  readonly kind: 'inductor';
  readonly between: NodePair;
  readonly henries: number;
}

/** Two windings on one core; dots at the first node of each. A coupling of 1 is a perfect transformer with a magnetising inductance. */
export interface CoupledInductors extends Named {
  readonly kind: 'coupled-inductors';
  readonly primary: NodePair;
  readonly secondary: NodePair;
  readonly primaryHenries: number;
  readonly secondaryHenries: number;
  /** M / √(L1 L2), 0 … 1. */
  readonly coupling: number;
}

/** `turnsRatio` n : 1, that is v(primary) = n · v(secondary). Passes direct current too. */
export interface IdealTransformer extends Named {
  readonly kind: 'ideal-transformer';
  readonly primary: NodePair;
  readonly secondary: NodePair;
  readonly turnsRatio: number;
}

/** A voltage source of 0 V is a wire. */
export interface VoltageSource extends Named {
  readonly kind: 'voltage-source';
  readonly between: NodePair;
  readonly volts: number;
}

/** The current flows from `from` through the source to `to`. */
export interface CurrentSource extends Named {
  readonly kind: 'current-source';
  readonly from: string;
  readonly to: string;
  readonly amperes: number;
}

/** The signal: a voltage source of u + biasVolts. A circuit has at most one. */
export interface SignalInput extends Named {
  readonly kind: 'input';
  readonly between: NodePair;
  readonly biasVolts: number;
}

/** An ideal voltage amplifier: v(out) = gain · v(in); no input current, no output impedance. */
export interface Amplifier extends Named {
  readonly kind: 'amplifier';
  readonly out: NodePair;
  readonly in: NodePair;
  readonly gain: number;
}

export interface Diode extends Named {
  readonly kind: 'diode';
  readonly anode: string;
  readonly cathode: string;
  readonly saturationAmperes: number;
  readonly emissionCoefficient: number;
}

export interface BipolarTransistor extends Named {
  readonly kind: 'bipolar';
  readonly polarity: 'npn' | 'pnp';
  readonly collector: string;
  readonly base: string;
  readonly emitter: string;
  readonly saturationAmperes: number;
  readonly forwardBeta: number;
  readonly reverseBeta: number;
  /** null: no Early effect. */
  readonly earlyVolts: number | null;
  /** 0: none. Otherwise an inner node and a resistor. */
  readonly baseOhms: number;
  /** Linear capacitors across the two junctions, at the inner base; 0: none. */
  readonly emitterCapacitanceFarads: number;
  readonly collectorCapacitanceFarads: number;
}

/** A bipolar transistor without its base–collector junction: its collector may fall below its base, it never saturates. No base resistance, no capacitances. */
export interface ForwardBipolar extends Named {
  readonly kind: 'forward-bipolar';
  readonly polarity: 'npn' | 'pnp';
  readonly collector: string;
  readonly base: string;
  readonly emitter: string;
  readonly saturationAmperes: number;
  readonly forwardBeta: number;
  /** null: no Early effect. */
  readonly earlyVolts: number | null;
}

export interface FieldEffectTransistor extends Named {
  readonly kind: 'field-effect';
  readonly channel: 'n' | 'p';
  readonly drain: string;
  readonly gate: string;
  readonly source: string;
  readonly thresholdVolts: number;
  readonly betaAmperesPerVolt2: number;
  readonly lambdaPerVolt: number;
  /** null: an insulated gate. Otherwise gate–source and gate–drain diodes of this saturation current. */
  readonly gateSaturationAmperes: number | null;
}

/** A field-effect transistor that stays pinched off at its drain whatever the voltage across it: a square law without an ohmic region, its gate insulated. */
export interface ForwardFieldEffect extends Named {
  readonly kind: 'forward-field-effect';
  readonly channel: 'n' | 'p';
  readonly drain: string;
  readonly gate: string;
  readonly source: string;
  readonly thresholdVolts: number;
  readonly betaAmperesPerVolt2: number;
  readonly lambdaPerVolt: number;
}

export interface Triode extends Named {
  readonly kind: 'triode';
  readonly anode: string;
  readonly grid: string;
  readonly cathode: string;
  /** Amperes per volt^1.5. */
  readonly perveance: number;
  readonly mu: number;
  /** Amperes per volt^1.5; null: no grid current. */
  readonly gridPerveance: number | null;
}

/** Drives siemens · v(in) into the first output node, taken from the second: a linear conductance from one pair of nodes to another. */
export interface Transconductor extends Named {
  readonly kind: 'transconductor';
  readonly out: NodePair;
  readonly in: NodePair;
  readonly siemens: number;
}

/** Drives maxAmperes · tanh(v(in) / scaleVolts) into the first output node, taken from the second. */
export interface TanhTransconductor extends Named {
  readonly kind: 'tanh-transconductor';
  readonly out: NodePair;
  readonly in: NodePair;
  readonly maxAmperes: number;
  readonly scaleVolts: number;
}

/**
 * Drives amperesPerVolt2 · v(inA) · v(inB) into the first output node, taken from the second: the power in a transistor, say, as a current that heats a
 * thermal network.
 */
export interface ProductTransconductor extends Named {
  readonly kind: 'product-transconductor';
  readonly out: NodePair;
  readonly inA: NodePair;
  readonly inB: NodePair;
  readonly amperesPerVolt2: number;
}

/**
 * A winding on a core with memory: Rayleigh's law between reversals, nested loops that close and are forgotten, saturation (core-law.ts). Its current flows from the first node to the second.
 * λ = L0 i + ν i² from the demagnetised core, so that its inductance at a peak current i is L0 (1 + η), η = ν i/L0.
 */
export interface Core extends Named {
  readonly kind: 'core';
  readonly between: NodePair;
  /** L0, of a small signal. */
  readonly inductanceHenries: number;
  /** ν: 0, none. */
  readonly rayleighHenriesPerAmpere: number;
  /** Flux linkage at which the core saturates: its inductance falls to a tenth of L0 and less; null: never. */
  readonly saturationVoltSeconds: number | null;
  /** Inductance that the air gap alone would leave; null: no gap. */
  readonly gapHenries: number | null;
}

export type DeviceComponent = Diode | BipolarTransistor | ForwardBipolar | FieldEffectTransistor | ForwardFieldEffect | Triode | TanhTransconductor | ProductTransconductor | Core;

export type Component =
  | Resistor
  | Capacitor
  | Inductor
  | CoupledInductors
  | IdealTransformer
  | VoltageSource
  | CurrentSource
  | SignalInput
  | Amplifier
  | Transconductor
  | DeviceComponent;

export type ComponentKind = Component['kind'];

/** A parsed circuit document: every optional field resolved. `ground` is the reference node. */
export interface CircuitDocument {
  readonly title: string;
  /** At which the saturation currents hold; sets kT/q of every junction. */
  readonly temperatureC: number;
  readonly components: readonly Component[];
  readonly output: NodePair;
  /** Where it is known to rest, volts by node, of a circuit made from one that was solved (`remove.ts`): no part of the file format. */
  readonly knownRest?: Readonly<Record<string, number>>;
}
