/** Parameters of the bell circuit. */
import type { Parameter } from '../contract.ts';
import { opAmpParameters } from '../shared/op-amp-block.ts';
import { capacitance, drive, makeUp, resistance } from '../shared/parameters.ts';
import { armParameter, outputParameters, positionParameter } from '../shared/pot-equaliser.ts';

export const parameters: readonly Parameter[] = [
  drive(),
  armParameter(10e3),
  resistance({
    id: 'potOhms', designator: 'RV', spoken: 'R V', label: 'pot', shortLabel: 'pot', range: [2e3, 1e5], default: 5e3,
    help: 'Between the two inputs of the amplifier: a large one flattens the middle of its travel and widens small amounts.',
  }),
  positionParameter('potPosition', 'travel of the pot', 'travel', 0.8),
  capacitance({
    id: 'seriesFarads', designator: 'CS', spoken: 'C S', label: 'series capacitor', shortLabel: 'series cap', range: [1e-10, 1e-5], default: 6.8e-9,
    help: 'With the inductance that the second amplifier stands for it sets the centre; a smaller one makes a higher centre and a higher Q.',
  }),
  resistance({
    id: 'legOhms', designator: 'RQ', spoken: 'R Q', label: 'leg, series', shortLabel: 'leg', range: [470, 22e3], default: 2200,
    help: 'Resistance of the simulated inductor and part of its inductance: a small one raises the largest amount and the Q, and moves the centre up.',
  }),
  capacitance({
    id: 'gyratorFarads', designator: 'CG', spoken: 'C G', label: 'gyrator capacitor', shortLabel: 'gyrator cap', range: [1e-10, 1e-6], default: 1.8e-9,
    help: 'The simulated inductance is RQ times RG times this.',
  }),
  resistance({
    id: 'gyratorOhms', designator: 'RG', spoken: 'R G', label: 'gyrator resistor', shortLabel: 'gyrator res', range: [1e4, 1e6], default: 100e3,
    help: 'The simulated inductance is RQ times this times CG; a large one beside RQ keeps the inductor good to higher frequencies.',
  }),
  ...outputParameters(),
  ...opAmpParameters(),
  makeUp(-0.78),
];
