/** Bipolar common emitter with its pad, divider, split emitter resistor, coupling and load. */
import type { CircuitDocument } from '../../circuit/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import { outputParts, padParts } from '../shared/single-ended-parts.ts';
import { sourceNetwork } from '../shared/source-network.ts';
import { stageTemperatureC } from '../shared/thermal-volts.ts';
import { numbersOf } from '../shared/values.ts';

/** Saturation current of the transistor, A, at 27 °C. A generic small-signal type. */
const saturationAmperes = 1e-14;

export function circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const v = numbersOf(values);
  const before = sourceNetwork(source);
  return {
    title: 'single-ended stage, bipolar',
    temperatureC: stageTemperatureC,
    components: [
      ...before.components,
      ...padParts(values, before.node),
      { kind: 'capacitor', name: 'CIN', between: ['pad', 'base'], farads: v('inputCouplingFarads') },
      { kind: 'resistor', name: 'RB1', between: ['supply', 'base'], ohms: v('upperDividerOhms') },
      { kind: 'resistor', name: 'RB2', between: ['base', 'ground'], ohms: v('lowerDividerOhms') },
      {
        kind: 'bipolar', name: 'Q1', polarity: 'npn', collector: 'collector', base: 'base', emitter: 'emitter',
        saturationAmperes, forwardBeta: v('forwardBeta'), reverseBeta: 1, earlyVolts: v('earlyVolts'),
        baseOhms: 0, emitterCapacitanceFarads: 0, collectorCapacitanceFarads: 0,
      },
      { kind: 'resistor', name: 'RC', between: ['supply', 'collector'], ohms: v('collectorOhms') },
      { kind: 'resistor', name: 'RE1', between: ['emitter', 'bypass'], ohms: v('emitterOhms') },
      { kind: 'resistor', name: 'RE2', between: ['bypass', 'ground'], ohms: v('bypassedEmitterOhms') },
      { kind: 'capacitor', name: 'CE', between: ['bypass', 'ground'], farads: v('bypassFarads') },
      { kind: 'voltage-source', name: 'VCC', between: ['supply', 'ground'], volts: v('supplyVolts') },
      ...outputParts(values, 'collector'),
    ],
    output: ['out', 'ground'],
  };
}
