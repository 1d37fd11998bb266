/** Parameters of the microphone input. */
import type { Parameter, StageValues } from '../contract.ts';
import { opAmpParameters } from '../shared/op-amp-block.ts';
import { capacitance, choice, current, drive, gain, inductance, level, makeUp, ratio, resistance } from '../shared/parameters.ts';
import { outputParameters } from '../shared/pot-equaliser.ts';
import { isTransformer } from './circuit.ts';

export const parameters: readonly Parameter[] = [
  drive(),
  choice({
    id: 'input', label: 'input', shortLabel: 'input', options: [['electronic', 'electronic, bipolar pair'], ['transformer', 'step-up transformer']], default: 'electronic',
    help: 'A pair of transistors that takes the microphone as it is, or a transformer that raises its voltage first.',
  }),
  level({
    id: 'microphoneDbu', label: 'programme at the microphone', shortLabel: 'microphone', range: [-56, -16], default: -40,
    help: 'What line level becomes in front of the input: RP1 and RP2 take it down to here, with the resistance of the microphone.',
  }),
  resistance({
    id: 'microphoneOhms', label: 'resistance of the microphone', shortLabel: 'source', range: [50, 600], default: 150,
    help: 'Its thermal noise is the floor, and with the transformer it sets the ends of the band.',
  }),
  gain({
    id: 'gainDb', label: 'gain', shortLabel: 'gain', range: [20, 60], default: 44,
    help: 'From the open microphone to the amplifier: RG follows from it; at high gain the bandwidth falls.',
  }),
  capacitance({
    id: 'inputFarads', designator: 'CIN', spoken: 'C in', label: 'input coupling', shortLabel: 'in coupling', range: [1e-7, 1e-3], default: 100e-6,
    help: 'Blocks direct current from the microphone; with the input resistance it sets the low-frequency corner.',
  }),
  resistance({
    id: 'biasOhms', designator: 'RB', spoken: 'R B', label: 'base bias', shortLabel: 'base bias', range: [1e3, 1e5], default: 6800,
    help: 'Input resistance of the electronic input; a low one loads the microphone.',
  }),
  current({
    id: 'tailAmperes', designator: 'IT', spoken: 'I T', label: 'tail current', shortLabel: 'tail', range: [1e-4, 1e-2], default: 2e-3,
    help: 'Both transistors share it: more of it lowers the voltage noise and raises the current noise.',
  }),
  resistance({
    id: 'emitterOhms', designator: 'RE', spoken: 'R E', label: 'degeneration', shortLabel: 'degeneration', range: [0.1, 1e3], default: 10,
    help: 'In each emitter: more of it makes the pair straighter and adds its own noise.',
  }),
  ratio({
    id: 'forwardBeta', designator: 'Q1 β', spoken: 'Q 1 beta', label: 'current gain of the pair', shortLabel: 'beta', range: [50, 1000], default: 400,
    help: 'A low one draws base current through the source, which adds noise and offset.',
  }, 10),
  capacitance({
    id: 'compensationFarads', designator: 'CC', spoken: 'C C', label: 'compensation', shortLabel: 'compensation', range: [22e-12, 1e-9], default: 100e-12,
    help: 'Round the amplifier, and the same at the other collector: a smaller one widens the band and costs margin at low gain.',
  }),
  ratio({
    id: 'stepUp', designator: 'T1', spoken: 'T 1', label: 'step-up of the transformer', shortLabel: 'step-up', range: [1, 15], default: 7,
    help: 'Voltage gain without noise, until the winding resistances and the load on the secondary take it back.',
  }, 0.1),
  resistance({
    id: 'primaryOhms', designator: 'RW', spoken: 'R W', label: 'primary winding resistance', shortLabel: 'primary', range: [1, 200], default: 20,
    help: 'Stands in series with the microphone: its noise adds to that of the source.',
  }),
  inductance({
    id: 'primaryHenries', designator: 'LM', spoken: 'L M', label: 'primary inductance', shortLabel: 'inductance', range: [0.1, 100], default: 5,
    help: 'With the microphone resistance it sets the low end of the band.',
  }),
  inductance({
    id: 'leakageHenries', designator: 'LK', spoken: 'L K', label: 'leakage inductance', shortLabel: 'leakage', range: [1e-6, 1e-2], default: 100e-6,
    help: 'With the capacitance of the secondary it sets the high end of the band, with a peak if it is not damped.',
  }),
  resistance({
    id: 'secondaryOhms', designator: 'RS', spoken: 'R S', label: 'secondary winding resistance', shortLabel: 'secondary', range: [10, 1e4], default: 1000,
    help: 'Of the many turns of the secondary; it counts divided by the square of the step-up.',
  }),
  capacitance({
    id: 'secondaryFarads', designator: 'CS', spoken: 'C S', label: 'secondary capacitance', shortLabel: 'second. cap', range: [1e-12, 1e-8], default: 150e-12,
    help: 'Of the winding and the wiring to the amplifier.',
  }),
  resistance({
    id: 'terminationOhms', designator: 'RT', spoken: 'R T', label: 'termination', shortLabel: 'termination', range: [1e4, 1e6], default: 150e3,
    help: 'Loads the secondary: damps its peak and, divided by the square of the step-up, is the input resistance.',
  }),
  resistance({
    id: 'feedbackOhms', designator: 'RF', spoken: 'R F', label: 'feedback resistor', shortLabel: 'feedback', range: [1e3, 1e5], default: 10e3,
    help: 'With RG it sets the gain; a high one makes RG higher and noisier.',
  }),
  capacitance({
    id: 'gainFarads', designator: 'CG', spoken: 'C G', label: 'gain capacitor', shortLabel: 'gain cap', range: [1e-6, 1e-2], default: 1000e-6,
    help: 'Under RG: keeps direct current out of the gain; with a small RG it must be large, or the bass goes.',
  }),
  ...outputParameters(),
  ...opAmpParameters(),
  makeUp(0.04),
];

const onlyElectronic = new Set(['inputFarads', 'biasOhms', 'tailAmperes', 'emitterOhms', 'forwardBeta', 'compensationFarads']);
const onlyTransformer = new Set(['stepUp', 'primaryOhms', 'primaryHenries', 'leakageHenries', 'secondaryOhms', 'secondaryFarads', 'terminationOhms']);

/** Identifiers of the parameters of the input chosen, in the table's order. */
export function relevant(values: StageValues): readonly string[] {
  const idle = isTransformer(values) ? onlyElectronic : onlyTransformer;
  return parameters.map(({ id }) => id).filter((id) => !idle.has(id));
}
