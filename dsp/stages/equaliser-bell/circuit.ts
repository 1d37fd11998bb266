/** A bell round one amplifier; the inductor of its resonant leg is an amplifier with a capacitor. */
import type { CircuitDocument } from '../../circuit/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import type { ResonantLeg } from '../shared/bell.ts';
import { opAmpBlock, opAmpLimits } from '../shared/op-amp-block.ts';
import { potEqualiserParts, potParts } from '../shared/pot-equaliser.ts';
import { sourceNetwork } from '../shared/source-network.ts';
import { stageTemperatureC } from '../shared/thermal-volts.ts';
import { numbersOf } from '../shared/values.ts';

export function circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const v = numbersOf(values);
  const before = sourceNetwork(source);
  return {
    title: 'equaliser, bell circuit',
    temperatureC: stageTemperatureC,
    components: [
      ...before.components,
      ...potEqualiserParts(values, before.node),
      ...potParts('RV', v('potOhms'), v('potPosition'), 'wiper'),
      { kind: 'capacitor', name: 'CS', between: ['wiper', 'tank'], farads: v('seriesFarads') },
      { kind: 'resistor', name: 'RQ', between: ['tank', 'gyrator'], ohms: v('legOhms') },
      { kind: 'capacitor', name: 'CG', between: ['tank', 'sense'], farads: v('gyratorFarads') },
      { kind: 'resistor', name: 'RG', between: ['sense', 'ground'], ohms: v('gyratorOhms') },
      ...opAmpBlock('U2', { plus: 'sense', minus: 'gyrator', out: 'gyrator' }, opAmpLimits(values)),
    ],
    output: ['out', 'ground'],
  };
}

/** What the leg is meant to be: U2 holds RQ's end at the voltage of RG, so RQ carries what an inductor of RQ · RG · CG behind RQ would, as long as ω RQ CG is small. */
export function leg(values: StageValues): ResonantLeg {
  const v = numbersOf(values);
  return { ohms: v('legOhms'), henries: v('legOhms') * v('gyratorOhms') * v('gyratorFarads'), farads: v('seriesFarads') };
}
