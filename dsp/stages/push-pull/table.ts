/** Parameters of the push-pull stage. */
import type { Parameter, StageValues } from '../contract.ts';
import { choice, current, drive, makeUp, ratio, resistance, time, voltage } from '../shared/parameters.ts';

export const parameters: readonly Parameter[] = [
  drive(),
  resistance({
    id: 'driverOhms', designator: 'RS', spoken: 'R S', label: 'driver resistance', shortLabel: 'driver', range: [1, 1e4], default: 50,
    help: 'Resistance that drives the bases: a high one makes the base currents, and so the current gain, matter.',
  }),
  current({
    id: 'quiescentAmperes', designator: 'IQ', spoken: 'I Q', label: 'quiescent current', shortLabel: 'quiescent', range: [1e-5, 0.05], default: 2.6e-3,
    help: 'From class B through AB to A: too little leaves the crossover to harsh high orders, enough moves it above the working level.',
  }),
  resistance({
    id: 'emitterOhms', designator: 'RE', spoken: 'R E', label: 'emitter resistors', shortLabel: 'emitter', range: [0.1, 100], default: 10,
    help: 'Both emitter resistors: they linearise the crossover and set which quiescent current suits it.',
  }),
  voltage({
    id: 'railVolts', designator: 'VCC', spoken: 'V C C', label: 'supply rails, plus and minus', shortLabel: 'rails', range: [5, 40], default: 18,
    help: 'The two supplies; the output cannot pass them.',
  }, 1),
  voltage({
    id: 'driveLimitVolts', designator: 'VL', spoken: 'V L', label: 'base drive limit', shortLabel: 'drive limit', range: [2, 40], default: 17,
    help: 'How far the stage before can swing the bases, bias included: here the output clips.',
  }, 0.5),
  ratio({
    id: 'forwardBeta', designator: 'Q1 β', spoken: 'Q 1 beta', label: 'current gain', shortLabel: 'beta', range: [20, 1000], default: 200,
    help: 'Of the upper transistor; a low one loads the driver.',
  }, 10),
  ratio({
    id: 'betaRatio', designator: 'β2 / β1', spoken: 'beta 2 over beta 1', label: 'match of the pair', shortLabel: 'beta ratio', range: [0.2, 5], default: 1,
    help: 'Current gain of the lower transistor over that of the upper: away from 1 the even harmonics appear.',
  }, 0.05),
  resistance({
    id: 'loadOhms', designator: 'RL', spoken: 'R L', label: 'load', shortLabel: 'load', range: [8, 1e6], default: 600,
    help: 'A heavier load takes the pair out of class A at a lower level.',
  }),
  choice({
    id: 'thermal', label: 'heat of the pair', shortLabel: 'heat', options: [['off', 'left out'], ['on', 'acts on the bias']], default: 'off',
    help: 'With it the junctions warm up with what they dissipate and the quiescent current drifts: the crossover after a loud passage is another one.',
  }),
  ratio({
    id: 'tracking', label: 'tracking of the bias', shortLabel: 'tracking', range: [0, 1], default: 0.5,
    help: 'How much of the 2 mV per kelvin the bias follows: 0 leaves it fixed, 1 follows each junction perfectly.',
  }, 0.05, 'linear'),
  ratio({
    id: 'junctionKelvinPerWatt', label: 'junction to sink, kelvin per watt', shortLabel: 'junction K/W', range: [1, 300], default: 80,
    help: 'Thermal resistance of each transistor to the common sink: this part of the temperature follows the programme.',
  }, 5),
  time({
    id: 'junctionSeconds', label: 'time constant of the junction', shortLabel: 'junction', range: [1e-3, 10], default: 0.15,
    help: 'Of its heat into the sink: a short one lets the bias follow every phrase.',
  }),
  ratio({
    id: 'sinkKelvinPerWatt', label: 'sink to air, kelvin per watt', shortLabel: 'sink K/W', range: [0.5, 300], default: 60,
    help: 'Thermal resistance of the common sink to the surroundings: this part of the temperature follows the loudness of minutes.',
  }, 5),
  time({
    id: 'sinkSeconds', label: 'time constant of the sink', shortLabel: 'sink', range: [0.1, 600], default: 30,
    help: 'Of its heat into the air: how long the pair remembers a loud passage.',
  }),
  makeUp(0.15),
];

const onlyHeated = new Set(['tracking', 'junctionKelvinPerWatt', 'junctionSeconds', 'sinkKelvinPerWatt', 'sinkSeconds']);

/** Identifiers of the parameters that act, in the table's order: those of heat only where it is not left out. */
export function relevant(values: StageValues): readonly string[] {
  return parameters.map(({ id }) => id).filter((id) => values['thermal'] === 'on' || !onlyHeated.has(id));
}
