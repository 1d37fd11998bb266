/** Parameters of the line. */
import type { Parameter, StageValues } from '../contract.ts';
import { capacitance, capacitancePerLength, choice, current, gain, inductance, length, makeUp, resistance, resistancePerLength } from '../shared/parameters.ts';
import { coreParameters } from '../shared/transformer-core.ts';
import { actsIn } from '../shared/transformer-relevant.ts';

export const parameters: readonly Parameter[] = [
  gain({
    id: 'driveDb', label: 'drive', shortLabel: 'drive', range: [-40, 30], default: 0,
    help: 'Ideal gain before the line: the level at which it is driven.',
  }),
  choice({
    id: 'driving', label: 'driven by', shortLabel: 'driven by', default: 'stage-before',
    options: [
      ['stage-before', 'the stage before'], ['direct', 'direct, build-out alone'], ['direct-same-resistance', 'direct, resistance of the transformer'], ['transformer', 'a transformer'],
    ],
    help: 'Three ways to drive one line, fairly compared: direct, direct with the series resistance a transformer would have, and through the transformer itself.',
  }),
  resistance({
    id: 'buildOutOhms', designator: 'RB', spoken: 'R B', label: 'build-out of direct drive', shortLabel: 'build-out', range: [0.1, 1e4], default: 50,
    help: 'Between a direct driver and the line: keeps the driver stable and sets the corner with the line’s capacitance.',
  }),
  resistance({
    id: 'driverOhms', designator: 'RO', spoken: 'R O', label: 'driver and build-out', shortLabel: 'driver', range: [1, 1e4], default: 68,
    help: 'Before the transformer’s primary: driver impedance and build-out resistor together.',
  }),
  resistance({
    id: 'primaryOhms', designator: 'RP', spoken: 'R P', label: 'primary winding resistance', shortLabel: 'primary', range: [0.1, 1e4], default: 50,
    help: 'Of the transformer; a part of the resistance that damps its resonance with the line.',
  }),
  inductance({
    id: 'primaryHenries', designator: 'LM', spoken: 'L M', label: 'primary inductance', shortLabel: 'inductance', range: [0.05, 1000], default: 10,
    help: 'Magnetising inductance of the transformer’s core: sets the low end and how much the core distorts there.',
  }),
  ...coreParameters(27.2, [0, 45]),
  inductance({
    id: 'leakageHenries', designator: 'LK', spoken: 'L K', label: 'leakage inductance', shortLabel: 'leakage', range: [1e-6, 0.1], default: 1e-3,
    help: 'Of the transformer: resonates with the line. Bifilar windings have 30 microhenry and hardly any peak, 1 millihenry peaks inside the band.',
  }),
  resistance({
    id: 'secondaryOhms', designator: 'RS', spoken: 'R S', label: 'secondary winding resistance', shortLabel: 'secondary', range: [0.1, 1e4], default: 50,
    help: 'Of the transformer; a part of the resistance that damps its resonance with the line.',
  }),
  capacitance({
    id: 'secondaryFarads', designator: 'CS', spoken: 'C S', label: 'winding capacitance', shortLabel: 'winding cap', range: [1e-12, 1e-7], default: 1e-9,
    help: 'Of the transformer, across its secondary: as much as ten metres of line.',
  }),
  choice({
    id: 'damper', label: 'damper', shortLabel: 'damper', options: [['off', 'off'], ['on', 'on']], default: 'off',
    help: 'A resistor and a capacitor across the secondary that take the resonance down: wanted with short lines.',
  }),
  resistance({
    id: 'damperOhms', designator: 'RD', spoken: 'R D', label: 'damper resistance', shortLabel: 'damper R', range: [10, 1e6], default: 680,
    help: 'Near the characteristic resistance of leakage and capacitance it damps most.',
  }),
  capacitance({
    id: 'damperFarads', designator: 'CD', spoken: 'C D', label: 'damper capacitance', shortLabel: 'damper C', range: [1e-11, 1e-6], default: 4.7e-9,
    help: 'Keeps the damper out of the band; several times the capacitance it is to damp.',
  }),
  length({
    id: 'lineMetres', label: 'length of the line', shortLabel: 'length', range: [0.1, 3000], default: 300,
    help: 'Capacitance and resistance grow with it; the peak behind a transformer moves down into the band.',
  }),
  resistancePerLength({
    id: 'lineOhmsPerMetre', designator: 'RW', spoken: 'R W', label: 'resistance of the pair per metre', shortLabel: 'ohm/m', range: [1e-6, 10], default: 0.035,
    help: 'Both conductors together: a square millimetre of copper, there and back, has 35 milliohm a metre.',
  }),
  capacitancePerLength({
    id: 'lineFaradsPerMetre', designator: 'CW', spoken: 'C W', label: 'capacitance of the pair per metre', shortLabel: 'farad/m', range: [1e-11, 1e-9], default: 100e-12,
    help: 'Core to core; about 100 pF a metre is usual, and it asks the driver for current that grows with the frequency.',
  }),
  resistance({
    id: 'loadOhms', designator: 'RL', spoken: 'R L', label: 'load at the far end', shortLabel: 'load', range: [50, 1e7], default: 10e3,
    help: 'Bridging input or 600 ohm: a heavy load takes level, and damps the resonance.',
  }),
  current({
    id: 'limitAmperes', designator: 'IL', spoken: 'I L', label: 'current limit of the driver', shortLabel: 'limit', range: [1e-4, 2], default: 20e-3,
    help: 'For the readings alone: at which level a driver with this limit runs out of current, and how fast it still slews.',
  }),
  gain({
    id: 'wantedPeakDb', label: 'wanted peak', shortLabel: 'wanted peak', range: [0.05, 12], default: 1.5,
    help: 'The readings list every length whose resonance stands this far above 1 kHz; nothing is changed by it.',
  }),
  makeUp(0),
];

/** Parts of the transformer that also count as the resistance that equals it. */
const resistances = new Set(['driverOhms', 'primaryOhms', 'secondaryOhms']);
const ofTransformer = new Set([...resistances, 'primaryHenries', 'core', 'saturationDbu', 'leakageHenries', 'secondaryFarads', 'damper', 'damperOhms', 'damperFarads', 'wantedPeakDb']);

/** What does anything with this way of driving. */
export function relevant(values: StageValues): readonly string[] {
  const { driving } = values;
  const acts = (id: string): boolean => {
    if (id === 'buildOutOhms') return driving === 'direct';
    if (driving === 'direct-same-resistance' && resistances.has(id)) return true;
    return !ofTransformer.has(id) || (driving === 'transformer' && actsIn(values, id));
  };
  return parameters.map(({ id }) => id).filter(acts);
}
