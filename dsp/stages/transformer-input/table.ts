/** Parameters of the input transformer. */
import type { Parameter } from '../contract.ts';
import { capacitance, gain, makeUp, resistance } from '../shared/parameters.ts';
import { transformerParameters } from '../shared/transformer-table.ts';

export const parameters: readonly Parameter[] = [
  gain({
    id: 'driveDb', label: 'drive', shortLabel: 'drive', range: [-80, -6], default: -40,
    help: 'Ideal gain before the stage: at −40 dB line level arrives as a microphone would give it.',
  }),
  resistance({
    id: 'sourceOhms', designator: 'RO', spoken: 'R O', label: 'source resistance', shortLabel: 'source', range: [1, 1e4], default: 150,
    help: 'Of the microphone; with the primary inductance it sets the low corner, with the leakage it damps the high one.',
  }),
  ...transformerParameters({
    turnsRatio: 0.1, primaryOhms: 40, secondaryOhms: 2500, primaryHenries: 8, saturationDbu: 4, saturationRangeDbu: [-30, 35], gapHenries: 4, directAmperes: 1e-3, leakageHenries: 0.3e-3,
    primaryFarads: 200e-12, secondaryFarads: 100e-12, damper: 'off', damperOhms: 22e3, damperFarads: 330e-12,
  }),
  capacitance({
    id: 'loadFarads', designator: 'CL', spoken: 'C L', label: 'load capacitance', shortLabel: 'load cap', range: [1e-12, 1e-7], default: 50e-12,
    help: 'Wiring and input of the amplifier behind the secondary; seen from the primary it is the square of the turns larger.',
  }),
  resistance({
    id: 'loadOhms', designator: 'RL', spoken: 'R L', label: 'secondary load', shortLabel: 'load', range: [100, 1e8], default: 150e3,
    help: 'Seen from the source it is divided by the square of the turns: 150 kilohm behind 1 to 10 is 1.5 kilohm.',
  }),
  makeUp(21.2),
];
