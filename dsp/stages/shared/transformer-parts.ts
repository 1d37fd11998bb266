/**
 * A transformer between a source and a load: winding resistances, magnetising inductance, leakage (all of it on the primary side), an ideal transformer, winding capacitances
 * across the terminals, an optional damper. The usual equivalent circuit (for instance F. Langford-Smith, "Radiotron Designer's Handbook", 4th edition, 1953, chapter 5, from memory).
 */
import type { Component } from '../../circuit/index.ts';
import type { OutputNetwork } from '../contract.ts';
import type { Ladder } from './ladder.ts';
import { networkBehind } from './source-network.ts';

/** A core with memory, as in the circuit's component "core". */
export interface CoreLaw {
  readonly rayleighHenriesPerAmpere: number;
  readonly saturationVoltSeconds: number;
}

export interface TransformerDesign {
  /** Between what drives it and the primary. */
  readonly sourceOhms: number;
  /** Primary over secondary turns. */
  readonly turnsRatio: number;
  readonly primaryOhms: number;
  readonly secondaryOhms: number;
  /** Small-signal magnetising inductance without the gap, at the primary. */
  readonly primaryHenries: number;
  /** What the core does beyond that; null: nothing, an ideal core. */
  readonly core: CoreLaw | null;
  /** Inductance of the gap alone; null: none. */
  readonly gapHenries: number | null;
  /** Direct current in the primary; 0: none. */
  readonly directAmperes: number;
  readonly leakageHenries: number;
  /** Across the primary's terminals (null: not modelled) and the secondary's. */
  readonly primaryFarads: number | null;
  readonly secondaryFarads: number;
  /** In series, across the secondary's terminals. */
  readonly damper: { readonly ohms: number; readonly farads: number } | null;
}

/** Inductance of core and gap together: their magnetomotive forces add at one flux. */
export function magnetisingHenries({ primaryHenries, gapHenries }: Pick<TransformerDesign, 'primaryHenries' | 'gapHenries'>): number {
  return gapHenries === null ? primaryHenries : 1 / (1 / primaryHenries + 1 / gapHenries);
}

/** From `from` to `to`; the secondary stands on ground by itself, and nothing else joins the two sides. */
export function transformerComponents(design: TransformerDesign, from: string, to: string): readonly Component[] {
  return [
    { kind: 'resistor', name: 'RO', between: [from, 'primary'], ohms: design.sourceOhms },
    ...(design.primaryFarads === null ? [] : [{ kind: 'capacitor' as const, name: 'CP', between: ['primary', 'ground'] as const, farads: design.primaryFarads }]),
    { kind: 'resistor', name: 'RP', between: ['primary', 'core'], ohms: design.primaryOhms },
    magnetising(design, ['core', 'ground']),
    ...(design.directAmperes === 0 ? [] : [{ kind: 'current-source' as const, name: 'IDC', from: 'ground', to: 'core', amperes: design.directAmperes }]),
    { kind: 'inductor', name: 'LK', between: ['core', 'turns'], henries: design.leakageHenries },
    { kind: 'ideal-transformer', name: 'T1', primary: ['turns', 'ground'], secondary: ['secondary', 'ground'], turnsRatio: design.turnsRatio },
    { kind: 'resistor', name: 'RS', between: ['secondary', to], ohms: design.secondaryOhms },
    { kind: 'capacitor', name: 'CS', between: [to, 'ground'], farads: design.secondaryFarads },
    ...(design.damper === null ? [] : [
      { kind: 'resistor' as const, name: 'RD', between: [to, 'damper'] as const, ohms: design.damper.ohms },
      { kind: 'capacitor' as const, name: 'CD', between: ['damper', 'ground'] as const, farads: design.damper.farads },
    ]),
  ];
}

/** Its magnetising branch, LM. */
export function magnetising(design: Pick<TransformerDesign, 'primaryHenries' | 'gapHenries' | 'core'>, between: readonly [string, string]): Component {
  const { core, primaryHenries, gapHenries } = design;
  if (core === null) return { kind: 'inductor', name: 'LM', between, henries: magnetisingHenries(design) };
  return { kind: 'core', name: 'LM', between, inductanceHenries: primaryHenries, gapHenries, ...core };
}

/**
 * What the secondary's terminals present, source at rest: everything on the primary side (and what stands before it, `source`) seen through the turns, that is divided
 * by the square of their ratio. No load.
 */
export function transformerNetwork(design: TransformerDesign, source: OutputNetwork | null, to: string): OutputNetwork {
  const square = design.turnsRatio * design.turnsRatio;
  const before = networkBehind(source, square);
  return {
    from: 'electromotive',
    to,
    components: [
      ...before.components,
      { kind: 'resistor', name: 'RO', between: [before.node, 'primary'], ohms: design.sourceOhms / square },
      ...(design.primaryFarads === null ? [] : [{ kind: 'capacitor' as const, name: 'CP', between: ['electromotive', 'primary'] as const, farads: design.primaryFarads * square }]),
      { kind: 'resistor', name: 'RP', between: ['primary', 'core'], ohms: design.primaryOhms / square },
      { kind: 'inductor', name: 'LM', between: ['electromotive', 'core'], henries: magnetisingHenries(design) / square },
      { kind: 'inductor', name: 'LK', between: ['core', 'secondary'], henries: design.leakageHenries / square },
      { kind: 'resistor', name: 'RS', between: ['secondary', to], ohms: design.secondaryOhms },
      { kind: 'capacitor', name: 'CS', between: ['electromotive', to], farads: design.secondaryFarads },
      ...(design.damper === null ? [] : [
        { kind: 'resistor' as const, name: 'RD', between: ['damper', to] as const, ohms: design.damper.ohms },
        { kind: 'capacitor' as const, name: 'CD', between: ['electromotive', 'damper'] as const, farads: design.damper.farads },
      ]),
    ],
  };
}

/** The same parts as a ladder, without a load. */
export function transformerLadder(design: TransformerDesign): Ladder {
  return [
    { place: 'series', ohms: design.sourceOhms },
    ...(design.primaryFarads === null ? [] : [{ place: 'shunt' as const, farads: design.primaryFarads }]),
    { place: 'series', ohms: design.primaryOhms },
    { place: 'shunt', henries: magnetisingHenries(design) },
    { place: 'series', henries: design.leakageHenries },
    { place: 'turns', ratio: design.turnsRatio },
    { place: 'series', ohms: design.secondaryOhms },
    { place: 'shunt', farads: design.secondaryFarads },
    ...(design.damper === null ? [] : [{ place: 'shunt' as const, ...design.damper }]),
  ];
}
