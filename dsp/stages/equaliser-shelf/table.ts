/** Parameters of the shelf circuit. */
import type { Parameter } from '../contract.ts';
import { opAmpParameters } from '../shared/op-amp-block.ts';
import { capacitance, drive, makeUp, resistance } from '../shared/parameters.ts';
import { armParameter, outputParameters, positionParameter } from '../shared/pot-equaliser.ts';

export const parameters: readonly Parameter[] = [
  drive(),
  armParameter(10e3),
  resistance({
    id: 'lowPotOhms', designator: 'RVL', spoken: 'R V L', label: 'low pot', shortLabel: 'low pot', range: [2e3, 1e5], default: 10e3,
    help: 'Between the two inputs of the amplifier: a large one flattens the middle of its travel.',
  }),
  positionParameter('lowPosition', 'travel of the low pot', 'low travel', 0.75),
  resistance({
    id: 'legOhms', designator: 'RQ', spoken: 'R Q', label: 'low leg, series', shortLabel: 'low leg', range: [470, 22e3], default: 2200,
    help: 'Resistance of the simulated inductor: a small one raises the largest amount of the low shelf and moves its turnover up.',
  }),
  capacitance({
    id: 'gyratorFarads', designator: 'CG', spoken: 'C G', label: 'gyrator capacitor', shortLabel: 'gyrator cap', range: [1e-9, 1e-6], default: 8.2e-9,
    help: 'The simulated inductance is RQ times RG times this: a larger one moves the turnover of the low shelf down.',
  }),
  resistance({
    id: 'gyratorOhms', designator: 'RG', spoken: 'R G', label: 'gyrator resistor', shortLabel: 'gyrator res', range: [1e4, 1e6], default: 470e3,
    help: 'The simulated inductance is RQ times this times CG; a large one beside RQ keeps the inductor good to higher frequencies.',
  }),
  resistance({
    id: 'highPotOhms', designator: 'RVH', spoken: 'R V H', label: 'high pot', shortLabel: 'high pot', range: [2e3, 1e5], default: 10e3,
    help: 'Between the two inputs of the amplifier: a large one flattens the middle of its travel.',
  }),
  positionParameter('highPosition', 'travel of the high pot', 'high travel', 0.7),
  resistance({
    id: 'highOhms', designator: 'RH', spoken: 'R H', label: 'high leg, series', shortLabel: 'high leg', range: [470, 22e3], default: 2200,
    help: 'Limits the largest amount of the high shelf and sets where it levels off.',
  }),
  capacitance({
    id: 'highFarads', designator: 'CH', spoken: 'C H', label: 'high capacitor', shortLabel: 'high cap', range: [1e-10, 1e-6], default: 4.7e-9,
    help: 'Where its reactance meets the resistances of its leg the high shelf turns over: a smaller one moves it up.',
  }),
  ...outputParameters(),
  ...opAmpParameters(),
  makeUp(-0.24),
];
