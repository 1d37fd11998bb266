/** Parameters that both op-amp stages have: how the network is wired, its values, and what hangs at the output. */
import type { NumberParameter, Parameter } from '../contract.ts';
import { capacitance, choice, gain, resistance } from './parameters.ts';

export type Connection = 'non-inverting' | 'inverting';

/** Level control before the stage, at what brings line level back to line level with the default network. */
export const opAmpDrive = (defaultDb: number): NumberParameter => gain({
  id: 'driveDb', label: 'drive', shortLabel: 'drive', range: [-30, 40], default: defaultDb,
  help: 'Ideal gain before the stage: takes off what the feedback network amplifies, or pushes the signal further into the curve.',
});

export const feedbackParameters: readonly Parameter[] = [
  choice({
    id: 'connection', label: 'connection', shortLabel: 'connection', options: [['non-inverting', 'non-inverting'], ['inverting', 'inverting']], default: 'non-inverting',
    help: 'Inverting: the signal goes to RG, the gain is RF/RG and the input impedance RG; the noise gain, and so the loop gain, stays 1 + RF/RG.',
  }),
  resistance({
    id: 'sourceOhms', designator: 'RS', spoken: 'R S', label: 'input resistor', shortLabel: 'input', range: [1, 2e3], default: 50,
    help: 'In series with the non-inverting input; when inverting, from that input to earth. Its drop from the input current is an offset.',
  }),
  resistance({
    id: 'terminationOhms', designator: 'RI', spoken: 'R I', label: 'input termination', shortLabel: 'termination', range: [100, 1e6], default: 10e3,
    help: 'What the stage before is loaded with, and where the input finds its rest voltage.',
  }),
  resistance({
    id: 'feedbackOhms', designator: 'RF', spoken: 'R F', label: 'feedback', shortLabel: 'feedback', range: [330, 47e3], default: 2200,
    help: 'Over RG it sets the gain. More gain leaves less loop gain, so distortion rises by as much.',
  }),
  resistance({
    id: 'gainOhms', designator: 'RG', spoken: 'R G', label: 'gain resistor', shortLabel: 'gain', range: [330, 47e3], default: 2200,
    help: 'From the inverting input to earth, or to the signal when inverting. A network of low resistance loads the output.',
  }),
];

/** Build-out and load. */
export const loadParameters = (buildOutOhms: number, buildOutHelp: string, loadFarads: number): readonly Parameter[] => [
  resistance({
    id: 'buildOutOhms', designator: 'RO', spoken: 'R O', label: 'build-out', shortLabel: 'build-out', range: [0.1, 1e3], default: buildOutOhms, help: buildOutHelp,
  }),
  resistance({
    id: 'loadOhms', designator: 'RL', spoken: 'R L', label: 'load', shortLabel: 'load', range: [100, 1e6], default: 600,
    help: 'A heavier load asks for more current and loads the second stage, so distortion rises and the output clips sooner.',
  }),
  capacitance({
    id: 'loadFarads', designator: 'CL', spoken: 'C L', label: 'load capacitance', shortLabel: 'load cap', range: [1e-12, 1e-7], default: loadFarads,
    help: 'Line behind the stage, 100 pF a metre: takes phase margin where no build-out keeps it away, and current at high frequencies.',
  }),
];

export const compensation = (farads: number): NumberParameter => capacitance({
  id: 'compensationFarads', designator: 'CC', spoken: 'C C', label: 'compensation', shortLabel: 'compensation', range: [farads / 2, farads * 30], default: farads,
  help: 'Sets the gain-bandwidth with the pair and the slew rate with the tail current; too small a one and the loop oscillates.',
});
