/** Valve common cathode (generic medium-mu triode) with its pad, grid leak, split cathode resistor, coupling and load. */
import type { CircuitDocument } from '../../circuit/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import { outputParts, padParts } from '../shared/single-ended-parts.ts';
import { sourceNetwork } from '../shared/source-network.ts';
import { stageTemperatureC } from '../shared/thermal-volts.ts';
import { numbersOf } from '../shared/values.ts';

/** Grid current for a positive grid, A/V^1.5: bias shift and blocking come from it. */
const gridPerveance = 3e-4;

export function circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const v = numbersOf(values);
  const before = sourceNetwork(source);
  return {
    title: 'single-ended stage, valve',
    temperatureC: stageTemperatureC,
    components: [
      ...before.components,
      ...padParts(values, before.node),
      { kind: 'capacitor', name: 'CIN', between: ['pad', 'grid'], farads: v('inputCouplingFarads') },
      { kind: 'resistor', name: 'RG', between: ['grid', 'ground'], ohms: v('gridLeakOhms') },
      { kind: 'triode', name: 'V1', anode: 'anode', grid: 'grid', cathode: 'cathode', perveance: v('perveance'), mu: v('mu'), gridPerveance },
      { kind: 'resistor', name: 'RA', between: ['supply', 'anode'], ohms: v('anodeOhms') },
      { kind: 'resistor', name: 'RK1', between: ['cathode', 'bypass'], ohms: v('cathodeOhms') },
      { kind: 'resistor', name: 'RK2', between: ['bypass', 'ground'], ohms: v('bypassedCathodeOhms') },
      { kind: 'capacitor', name: 'CK', between: ['bypass', 'ground'], farads: v('bypassFarads') },
      { kind: 'voltage-source', name: 'VHT', between: ['supply', 'ground'], volts: v('supplyVolts') },
      ...outputParts(values, 'anode'),
    ],
    output: ['out', 'ground'],
  };
}
