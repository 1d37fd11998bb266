/** Parameters of the bell with an inductor. */
import type { Parameter, StageValues } from '../contract.ts';
import { opAmpParameters } from '../shared/op-amp-block.ts';
import { capacitance, choice, current, drive, inductance, makeUp, ratio, resistance } from '../shared/parameters.ts';
import { armParameter, outputParameters, positionParameter } from '../shared/pot-equaliser.ts';
import { hasCore } from './circuit.ts';

export const parameters: readonly Parameter[] = [
  drive(),
  armParameter(2200),
  resistance({
    id: 'potOhms', designator: 'RV', spoken: 'R V', label: 'pot', shortLabel: 'pot', range: [500, 1e5], default: 1e3,
    help: 'Between the two inputs of the amplifier: a large one flattens the middle of its travel and widens small amounts.',
  }),
  positionParameter('potPosition', 'travel of the pot', 'travel', 0.8),
  capacitance({
    id: 'seriesFarads', designator: 'CS', spoken: 'C S', label: 'series capacitor', shortLabel: 'series cap', range: [1e-10, 1e-5], default: 1e-6,
    help: 'With the inductor it sets the centre; a smaller one makes a higher centre and a higher Q.',
  }),
  resistance({
    id: 'legOhms', designator: 'RQ', spoken: 'R Q', label: 'leg, series', shortLabel: 'leg', range: [10, 22e3], default: 390,
    help: 'With the winding it sets the largest amount and, beside the reactance of the inductor, the Q.',
  }),
  inductance({
    id: 'coilHenries', designator: 'L', spoken: 'L', label: 'inductor', shortLabel: 'inductor', range: [1e-3, 20], default: 2.7,
    help: 'For small signals; with the series capacitor it sets the centre.',
  }),
  resistance({
    id: 'windingOhms', designator: 'RW', spoken: 'R W', label: 'winding resistance', shortLabel: 'winding', range: [0.1, 2e3], default: 120,
    help: 'Stands in series with RQ and limits the Q and the amount that can be had.',
  }),
  capacitance({
    id: 'windingFarads', designator: 'CW', spoken: 'C W', label: 'winding capacitance', shortLabel: 'winding cap', range: [1e-12, 1e-8], default: 220e-12,
    help: 'Between the turns: above its resonance with the inductor the coil is a capacitor.',
  }),
  choice({
    id: 'core', label: 'core of the inductor', shortLabel: 'core', options: [['ideal', 'ideal'], ['hysteresis', 'with hysteresis']], default: 'ideal',
    help: 'With hysteresis the inductance rises with the current, odd harmonics appear at low frequencies, and the core saturates.',
  }),
  ratio({
    id: 'coreRise', label: 'rise of the inductance at 1 mA', shortLabel: 'core rise', range: [1e-3, 1], default: 0.05,
    help: 'How much larger the inductance is at a peak of 1 mA than for small signals: the third harmonic of the current is 0.085 of it.',
  }, 0.01),
  current({
    id: 'saturationAmperes', label: 'saturation of the core', shortLabel: 'saturation', range: [1e-3, 1], default: 10e-3,
    help: 'Peak current at which the core is full: above it the inductance collapses and the bell moves up.',
  }),
  ...outputParameters(),
  ...opAmpParameters(),
  makeUp(-0.03),
];

const onlyCore = new Set(['coreRise', 'saturationAmperes']);

/** Identifiers of the parameters that do anything, in the table's order. */
export const relevant = (values: StageValues): readonly string[] => parameters.map(({ id }) => id).filter((id) => hasCore(values) || !onlyCore.has(id));
