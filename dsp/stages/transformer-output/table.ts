/** Parameters of the output transformer. */
import type { Parameter } from '../contract.ts';
import { capacitancePerLength, gain, length, makeUp, resistance } from '../shared/parameters.ts';
import { transformerParameters } from '../shared/transformer-table.ts';

export const parameters: readonly Parameter[] = [
  gain({
    id: 'driveDb', label: 'drive', shortLabel: 'drive', range: [-40, 30], default: 0,
    help: 'Ideal gain before the stage: louder and lower notes take the core nearer to saturation.',
  }),
  resistance({
    id: 'buildOutOhms', designator: 'RO', spoken: 'R O', label: 'driver and build-out', shortLabel: 'build-out', range: [1, 1e4], default: 68,
    help: 'Driver impedance and build-out resistor before the primary: it loses level, damps the resonance, and lets the core distort.',
  }),
  ...transformerParameters({
    turnsRatio: 1, primaryOhms: 50, secondaryOhms: 50, primaryHenries: 10, saturationDbu: 27.2, saturationRangeDbu: [0, 45], gapHenries: 5, directAmperes: 10e-3, leakageHenries: 1e-3,
    primaryFarads: 100e-12, secondaryFarads: 1e-9, damper: 'on', damperOhms: 680, damperFarads: 4.7e-9,
  }),
  length({
    id: 'lineMetres', designator: 'CL', spoken: 'C L', label: 'length of line', shortLabel: 'line', range: [0.1, 3000], default: 3,
    help: 'Cable behind the secondary, as its capacitance: with the leakage inductance it sets where the response peaks.',
  }),
  capacitancePerLength({
    id: 'lineFaradsPerMetre', label: 'line capacitance per metre', shortLabel: 'line F/m', range: [1e-11, 1e-9], default: 100e-12,
    help: 'Core to core of the cable; about 100 pF a metre is usual.',
  }),
  resistance({
    id: 'loadOhms', designator: 'RL', spoken: 'R L', label: 'load at the far end', shortLabel: 'load', range: [50, 1e7], default: 10e3,
    help: 'Bridging input or 600 ohm: a heavy load takes level, and damps the resonance.',
  }),
  gain({
    id: 'wantedPeakDb', label: 'wanted peak', shortLabel: 'wanted peak', range: [0.05, 12], default: 1.5,
    help: 'The readings list every line length whose resonance stands this far above 1 kHz; nothing is changed by it.',
  }),
  makeUp(0.14),
];
