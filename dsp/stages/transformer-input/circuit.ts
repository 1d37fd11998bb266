/** Source resistance, transformer, damper and the load of the amplifier behind. */
import type { CircuitDocument, Component } from '../../circuit/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import type { Ladder } from '../shared/ladder.ts';
import { sourceNetwork } from '../shared/source-network.ts';
import { stageTemperatureC } from '../shared/thermal-volts.ts';
import { transformerComponents, transformerLadder, transformerNetwork } from '../shared/transformer-parts.ts';
import { transformerDesignOf } from '../shared/transformer-values.ts';
import { numbersOf } from '../shared/values.ts';

export const designOf = (values: StageValues) => transformerDesignOf(values, numbersOf(values)('sourceOhms'));

function loadParts(values: StageValues, to: string): readonly Component[] {
  const v = numbersOf(values);
  return [
    { kind: 'capacitor', name: 'CL', between: ['out', to], farads: v('loadFarads') },
    { kind: 'resistor', name: 'RL', between: ['out', to], ohms: v('loadOhms') },
  ];
}

export function circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const before = sourceNetwork(source);
  return {
    title: 'input transformer',
    temperatureC: stageTemperatureC,
    components: [...before.components, ...transformerComponents(designOf(values), before.node, 'out'), ...loadParts(values, 'ground')],
    output: ['out', 'ground'],
  };
}

export function outputNetwork(values: StageValues, source: OutputNetwork | null = null): OutputNetwork {
  const network = transformerNetwork(designOf(values), source, 'out');
  return { ...network, components: [...network.components, ...loadParts(values, network.from)] };
}

export function ladder(values: StageValues): Ladder {
  const v = numbersOf(values);
  return [...transformerLadder(designOf(values)), { place: 'shunt', farads: v('loadFarads') }, { place: 'shunt', ohms: v('loadOhms') }];
}
