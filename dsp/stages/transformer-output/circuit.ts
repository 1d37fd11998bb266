/** Build-out, transformer, damper, the line's capacitance and the load. */
import type { CircuitDocument, Component } from '../../circuit/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import type { Ladder } from '../shared/ladder.ts';
import { sourceNetwork } from '../shared/source-network.ts';
import { stageTemperatureC } from '../shared/thermal-volts.ts';
import { transformerComponents, transformerLadder, transformerNetwork } from '../shared/transformer-parts.ts';
import { transformerDesignOf } from '../shared/transformer-values.ts';
import { numbersOf } from '../shared/values.ts';

export const designOf = (values: StageValues) => transformerDesignOf(values, numbersOf(values)('buildOutOhms'));

/** Line and load from "out" to `to`. */
function loadParts(values: StageValues, to: string): readonly Component[] {
  const v = numbersOf(values);
  return [
    { kind: 'capacitor', name: 'CL', between: ['out', to], farads: v('lineMetres') * v('lineFaradsPerMetre') },
    { kind: 'resistor', name: 'RL', between: ['out', to], ohms: v('loadOhms') },
  ];
}

export function circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const before = sourceNetwork(source);
  return {
    title: 'output transformer',
    temperatureC: stageTemperatureC,
    components: [...before.components, ...transformerComponents(designOf(values), before.node, 'out'), ...loadParts(values, 'ground')],
    output: ['out', 'ground'],
  };
}

export function outputNetwork(values: StageValues, source: OutputNetwork | null = null): OutputNetwork {
  const network = transformerNetwork(designOf(values), source, 'out');
  return { ...network, components: [...network.components, ...loadParts(values, network.from)] };
}

/** With another length of line if one is given. */
export function ladder(values: StageValues, metres: number = numbersOf(values)('lineMetres')): Ladder {
  const v = numbersOf(values);
  return [...transformerLadder(designOf(values)), { place: 'shunt', farads: metres * v('lineFaradsPerMetre') }, { place: 'shunt', ohms: v('loadOhms') }];
}
