/** Field-effect common source with its pad, divider, split source resistor, coupling and load. */
import type { CircuitDocument } from '../../circuit/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import { outputParts, padParts } from '../shared/single-ended-parts.ts';
import { sourceNetwork } from '../shared/source-network.ts';
import { stageTemperatureC } from '../shared/thermal-volts.ts';
import { numbersOf } from '../shared/values.ts';

/** Gate junction: without it the drain passes ground on large swings and nothing blocks. A, at 27 °C. */
const gateSaturationAmperes = 1e-14;

export function circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const v = numbersOf(values);
  const before = sourceNetwork(source);
  return {
    title: 'single-ended stage, field-effect',
    temperatureC: stageTemperatureC,
    components: [
      ...before.components,
      ...padParts(values, before.node),
      { kind: 'capacitor', name: 'CIN', between: ['pad', 'gate'], farads: v('inputCouplingFarads') },
      { kind: 'resistor', name: 'RG1', between: ['supply', 'gate'], ohms: v('upperDividerOhms') },
      { kind: 'resistor', name: 'RG2', between: ['gate', 'ground'], ohms: v('lowerDividerOhms') },
      {
        kind: 'field-effect', name: 'J1', channel: 'n', drain: 'drain', gate: 'gate', source: 'source',
        thresholdVolts: v('thresholdVolts'), betaAmperesPerVolt2: v('betaAmperesPerVolt2'), lambdaPerVolt: v('lambdaPerVolt'), gateSaturationAmperes,
      },
      { kind: 'resistor', name: 'RD', between: ['supply', 'drain'], ohms: v('drainOhms') },
      { kind: 'resistor', name: 'RS1', between: ['source', 'bypass'], ohms: v('sourceOhms') },
      { kind: 'resistor', name: 'RS2', between: ['bypass', 'ground'], ohms: v('bypassedSourceOhms') },
      { kind: 'capacitor', name: 'CS', between: ['bypass', 'ground'], farads: v('bypassFarads') },
      { kind: 'voltage-source', name: 'VDD', between: ['supply', 'ground'], volts: v('supplyVolts') },
      ...outputParts(values, 'drain'),
    ],
    output: ['out', 'ground'],
  };
}
