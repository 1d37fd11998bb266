/** Parameters of the line amplifier. */
import type { Parameter } from '../contract.ts';
import { capacitance, current, gain, inductance, makeUp, resistance, voltage } from '../shared/parameters.ts';
import { coreParameters } from '../shared/transformer-core.ts';

export const parameters: readonly Parameter[] = [
  gain({
    id: 'driveDb', label: 'drive', shortLabel: 'drive', range: [-40, 30], default: 0,
    help: 'Ideal gain before the stage: pushes the output device towards cut-off and saturation.',
  }),
  resistance({
    id: 'inputOhms', designator: 'RIN', spoken: 'R in', label: 'input resistor', shortLabel: 'input', range: [10e3, 220e3], default: 22e3,
    help: 'With the feedback resistor it sets the gain, and it is what the stage before has to drive.',
  }),
  capacitance({
    id: 'inputCouplingFarads', designator: 'CIN', spoken: 'C in', label: 'input coupling', shortLabel: 'in coupling', range: [1e-6, 1e-4], default: 10e-6,
    help: 'Blocks direct current; with the input resistor it sets a low corner far under the band.',
  }),
  resistance({
    id: 'feedbackOhms', designator: 'RF', spoken: 'R F', label: 'feedback from the output collector', shortLabel: 'feedback', range: [15e3, 68e3], default: 22e3,
    help: 'Overall feedback: a larger one gives more gain and leaves less loop gain to linearise the output device.',
  }),
  current({
    id: 'quiescentAmperes', designator: 'IQ', spoken: 'I Q', label: 'quiescent current of the output', shortLabel: 'quiescent', range: [20e-3, 70e-3], default: 45e-3,
    help: 'Class A gives the load no more current than this, and the primary carries it: it biases the core.',
  }),
  resistance({
    id: 'emitterOhms', designator: 'RE3', spoken: 'R E 3', label: 'emitter resistor of the output', shortLabel: 'emitter', range: [6.8, 22], default: 10,
    help: 'Steadies the output current and linearises it; what falls across it is lost to the swing.',
  }),
  capacitance({
    id: 'compensationFarads', designator: 'CC', spoken: 'C C', label: 'compensation', shortLabel: 'compensat.', range: [4.7e-9, 150e-9], default: 15e-9,
    help: 'Makes one pole of the loop the first by far: a larger one is steadier and leaves less loop gain at high frequencies.',
  }),
  voltage({
    id: 'supplyVolts', designator: 'VCC', spoken: 'V C C', label: 'supply', shortLabel: 'supply', range: [15, 40], default: 24,
    help: 'The collector swings nearly to ground and, thanks to the primary, as far above the supply.',
  }, 1),
  resistance({
    id: 'primaryOhms', designator: 'RP', spoken: 'R P', label: 'primary winding resistance', shortLabel: 'primary', range: [1, 60], default: 10,
    help: 'Loses swing and a little direct voltage.',
  }),
  inductance({
    id: 'coreHenries', designator: 'LM', spoken: 'L M', label: 'inductance of the core alone', shortLabel: 'core', range: [10, 300], default: 30,
    help: 'What the primary would have without a gap; in parallel with that of the gap it makes the primary’s.',
  }),
  ...coreParameters(34.3, [20, 45]),
  inductance({
    id: 'gapHenries', designator: 'LG', spoken: 'L G', label: 'inductance of the gap', shortLabel: 'gap', range: [3, 50], default: 6,
    help: 'The gap keeps the direct current from saturating the core; a narrower one has more inductance, and more flux at rest.',
  }),
  inductance({
    id: 'leakageHenries', designator: 'LK', spoken: 'L K', label: 'leakage inductance', shortLabel: 'leakage', range: [1e-5, 0.01], default: 0.5e-3,
    help: 'Stands between the feedback and the load: the loop does not see what it does with the line behind it.',
  }),
  resistance({
    id: 'secondaryOhms', designator: 'RS', spoken: 'R S', label: 'secondary winding resistance', shortLabel: 'secondary', range: [1, 100], default: 10,
    help: 'Loses level into the load; outside the feedback, it is the output impedance with the primary’s.',
  }),
  capacitance({
    id: 'loadFarads', designator: 'CL', spoken: 'C L', label: 'winding and line capacitance', shortLabel: 'load cap', range: [1e-10, 3e-8], default: 2e-9,
    help: 'With the leakage inductance it resonates, damped by the load.',
  }),
  resistance({
    id: 'loadOhms', designator: 'RL', spoken: 'R L', label: 'load', shortLabel: 'load', range: [300, 10e3], default: 600,
    help: 'A heavier load needs more current than class A has; a lighter one leaves the swing to the voltage.',
  }),
  makeUp(0.35),
];
