/** A pair of wires as a T of half its resistance, all its capacitance and the other half, and what drives it. */
import type { CircuitDocument, Component } from '../../circuit/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import type { Ladder } from '../shared/ladder.ts';
import { networkBehind, sourceNetwork } from '../shared/source-network.ts';
import { stageTemperatureC } from '../shared/thermal-volts.ts';
import { coreOf } from '../shared/transformer-core.ts';
import { transformerComponents, transformerLadder, transformerNetwork } from '../shared/transformer-parts.ts';
import type { TransformerDesign } from '../shared/transformer-parts.ts';
import { choiceOf, numbersOf } from '../shared/values.ts';

export type Driving = 'stage-before' | 'direct' | 'direct-same-resistance' | 'transformer';

export const drivingOf = (values: StageValues): Driving => choiceOf(values, 'driving') as Driving;

/** The transformer that drives the line where one does: 1:1, no gap. */
export function transformerOf(values: StageValues): TransformerDesign {
  const v = numbersOf(values);
  return {
    sourceOhms: v('driverOhms'), turnsRatio: 1, primaryOhms: v('primaryOhms'), secondaryOhms: v('secondaryOhms'),
    primaryHenries: v('primaryHenries'), core: coreOf(values, v('primaryHenries')), gapHenries: null, directAmperes: 0, leakageHenries: v('leakageHenries'),
    primaryFarads: null, secondaryFarads: v('secondaryFarads'),
    damper: choiceOf(values, 'damper') === 'on' ? { ohms: v('damperOhms'), farads: v('damperFarads') } : null,
  };
}

/** Resistance of driver, build-out and windings before the line, Ω; 0 for the stage before. */
export function seriesOhms(values: StageValues): number {
  const v = numbersOf(values);
  switch (drivingOf(values)) {
    case 'stage-before': return 0;
    case 'direct': return v('buildOutOhms');
    default: return v('driverOhms') + v('primaryOhms') + v('secondaryOhms');
  }
}

export const lineFarads = (values: StageValues): number => numbersOf(values)('lineMetres') * numbersOf(values)('lineFaradsPerMetre');

/** From `near` to "out", shunts to `common`. */
function lineParts(values: StageValues, near: string, common: string): readonly Component[] {
  const v = numbersOf(values);
  const half = (v('lineMetres') * v('lineOhmsPerMetre')) / 2;
  return [
    { kind: 'resistor', name: 'RW1', between: [near, 'line'], ohms: half },
    { kind: 'capacitor', name: 'CW', between: ['line', common], farads: lineFarads(values) },
    { kind: 'resistor', name: 'RW2', between: ['line', 'out'], ohms: half },
    { kind: 'resistor', name: 'RL', between: ['out', common], ohms: v('loadOhms') },
  ];
}

/** What stands between `from` and the line's near end, and the name of that end. */
function drivingParts(values: StageValues, from: string): { readonly near: string; readonly components: readonly Component[] } {
  switch (drivingOf(values)) {
    case 'stage-before': return { near: from, components: [] };
    case 'transformer': return { near: 'near', components: transformerComponents(transformerOf(values), from, 'near') };
    default: return { near: 'near', components: [{ kind: 'resistor', name: 'RB', between: [from, 'near'], ohms: seriesOhms(values) }] };
  }
}

export function circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const before = sourceNetwork(source);
  const { near, components } = drivingParts(values, before.node);
  return {
    title: 'line',
    temperatureC: stageTemperatureC,
    components: [...before.components, ...components, ...lineParts(values, near, 'ground')],
    output: ['out', 'ground'],
  };
}

export function outputNetwork(values: StageValues, source: OutputNetwork | null = null): OutputNetwork {
  const driven = drivingOf(values) === 'transformer' ? transformerNetwork(transformerOf(values), source, 'near') : null;
  const before = driven === null ? networkBehind(source) : null;
  const { near, components } = driven ? { near: 'near', components: driven.components } : drivingParts(values, before!.node);
  return { from: 'electromotive', to: 'out', components: [...(before?.components ?? []), ...components, ...lineParts(values, near, 'electromotive')] };
}

/** With another length if one is given. */
export function ladder(values: StageValues, metres: number = numbersOf(values)('lineMetres')): Ladder {
  const v = numbersOf(values);
  const half = { place: 'series' as const, ohms: (metres * v('lineOhmsPerMetre')) / 2 };
  const driven: Ladder = drivingOf(values) === 'transformer' ? transformerLadder(transformerOf(values)) : [{ place: 'series', ohms: seriesOhms(values) }];
  return [...driven, half, { place: 'shunt', farads: metres * v('lineFaradsPerMetre') }, half, { place: 'shunt', ohms: v('loadOhms') }];
}
