/** A bell round one amplifier with a real inductor in its leg: winding resistance, winding capacitance, core. */
import type { CircuitDocument, Component } from '../../circuit/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import type { ResonantLeg } from '../shared/bell.ts';
import { potEqualiserParts, potParts } from '../shared/pot-equaliser.ts';
import { sourceNetwork } from '../shared/source-network.ts';
import { stageTemperatureC } from '../shared/thermal-volts.ts';
import { choiceOf, numbersOf } from '../shared/values.ts';

export const hasCore = (values: StageValues): boolean => choiceOf(values, 'core') === 'hysteresis';

/** Current for which the rise of the inductance is told, A. */
export const riseAmperes = 1e-3;

function inductor(values: StageValues): Component {
  const v = numbersOf(values);
  if (hasCore(values)) {
    return {
      kind: 'core', name: 'L', between: ['coil', 'winding'], inductanceHenries: v('coilHenries'), rayleighHenriesPerAmpere: (v('coreRise') * v('coilHenries')) / riseAmperes,
      saturationVoltSeconds: v('coilHenries') * v('saturationAmperes'), gapHenries: null,
    };
  }
  return { kind: 'inductor', name: 'L', between: ['coil', 'winding'], henries: v('coilHenries') };
}

export function circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const v = numbersOf(values);
  const before = sourceNetwork(source);
  return {
    title: 'equaliser, bell with an inductor',
    temperatureC: stageTemperatureC,
    components: [
      ...before.components,
      ...potEqualiserParts(values, before.node),
      ...potParts('RV', v('potOhms'), v('potPosition'), 'wiper'),
      { kind: 'capacitor', name: 'CS', between: ['wiper', 'tank'], farads: v('seriesFarads') },
      { kind: 'resistor', name: 'RQ', between: ['tank', 'coil'], ohms: v('legOhms') },
      inductor(values),
      { kind: 'resistor', name: 'RW', between: ['winding', 'ground'], ohms: v('windingOhms') },
      { kind: 'capacitor', name: 'CW', between: ['coil', 'ground'], farads: v('windingFarads') },
    ],
    output: ['out', 'ground'],
  };
}

/** What the leg is meant to be: winding capacitance and core are what comes between. */
export function leg(values: StageValues): ResonantLeg {
  const v = numbersOf(values);
  return { ohms: v('legOhms') + v('windingOhms'), henries: v('coilHenries'), farads: v('seriesFarads') };
}
