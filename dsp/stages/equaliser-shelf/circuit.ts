/** Two shelves round one amplifier: a low one whose leg is an inductance (an amplifier with a capacitor), a high one whose leg is a capacitor. */
import type { CircuitDocument } from '../../circuit/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import { opAmpBlock, opAmpLimits } from '../shared/op-amp-block.ts';
import { potEqualiserParts, potParts } from '../shared/pot-equaliser.ts';
import { sourceNetwork } from '../shared/source-network.ts';
import { stageTemperatureC } from '../shared/thermal-volts.ts';
import { numbersOf } from '../shared/values.ts';

export function circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const v = numbersOf(values);
  const before = sourceNetwork(source);
  return {
    title: 'equaliser, shelf circuit',
    temperatureC: stageTemperatureC,
    components: [
      ...before.components,
      ...potEqualiserParts(values, before.node),
      ...potParts('RVL', v('lowPotOhms'), v('lowPosition'), 'tank'),
      { kind: 'resistor', name: 'RQ', between: ['tank', 'gyrator'], ohms: v('legOhms') },
      { kind: 'capacitor', name: 'CG', between: ['tank', 'sense'], farads: v('gyratorFarads') },
      { kind: 'resistor', name: 'RG', between: ['sense', 'ground'], ohms: v('gyratorOhms') },
      ...opAmpBlock('U2', { plus: 'sense', minus: 'gyrator', out: 'gyrator' }, opAmpLimits(values)),
      ...potParts('RVH', v('highPotOhms'), v('highPosition'), 'high'),
      { kind: 'resistor', name: 'RH', between: ['high', 'treble'], ohms: v('highOhms') },
      { kind: 'capacitor', name: 'CH', between: ['treble', 'ground'], farads: v('highFarads') },
    ],
    output: ['out', 'ground'],
  };
}
