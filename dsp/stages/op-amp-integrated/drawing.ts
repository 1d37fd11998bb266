/** The sheet of the integrated op-amp stage: pair at the left, second stage and its limits in the middle, followers and load at the right; feedback along the foot. */
import type { StageValues } from '../contract.ts';
import type { Drawing, Placement, Point } from '../drawing.ts';
import { connectionOf } from '../shared/op-amp-parts.ts';
import { parameters } from './table.ts';

const upperRail = 3;
const lowerRail = 53;

interface Section {
  readonly placements: readonly Placement[];
  readonly wires: readonly (readonly Point[])[];
}

const amplifier: Section = {
  placements: [
    // Turned over: the inverting input is the lower one, where the feedback comes.
    { symbol: 'input-pair', component: 'G1', parameter: 'tailAmperes', at: [17, 25], turn: 180, mirrored: true, label: [16.5, 18] },
    { symbol: 'resistor', component: 'RG', parameter: 'gainOhms', at: [16, 38], label: [17.8, 37] },
    { symbol: 'limiter', component: 'L2', at: [28, 40], label: [24.5, 46] },
    { symbol: 'capacitor', component: 'CC', parameter: 'compensationFarads', at: [33, 20], turn: 90, label: [27, 14.5] },
    { symbol: 'bipolar-npn', component: 'Q1', at: [36, 33] },
    { symbol: 'resistor', component: 'R1', at: [38, 41] },
    { symbol: 'current-source', component: 'IS', parameter: 'secondStageAmperes', at: [38, 11], mirrored: true, label: [40.7, 10] },
    { symbol: 'limiter', component: 'L1', parameter: 'clampVolts', at: [43, 30], label: [39.8, 40.4] },
    { symbol: 'voltage-source', component: 'VB1', at: [48, 22] },
    { symbol: 'voltage-source', component: 'VB2', at: [48, 35] },
    { symbol: 'limiter', component: 'L3', parameter: 'limitAmperes', at: [54, 25], turn: 270, label: [50, 28.4] },
    { symbol: 'bipolar-npn', component: 'Q2', at: [58, 15] },
    { symbol: 'bipolar-pnp', component: 'Q3', at: [58, 38] },
    { symbol: 'resistor', component: 'RE1', parameter: 'emitterOhms', at: [60, 22], label: [61.8, 18] },
    { symbol: 'resistor', component: 'RE2', at: [60, 28] },
    { symbol: 'resistor', component: 'RF', parameter: 'feedbackOhms', at: [48, 49], turn: 90, label: [49.5, 44.3] },
    { symbol: 'resistor', component: 'RO', parameter: 'buildOutOhms', at: [67, 25], turn: 90, label: [63.5, 29] },
    { symbol: 'capacitor', component: 'CL', parameter: 'loadFarads', at: [74, 34], label: [63.5, 40] },
    { symbol: 'resistor', component: 'RL', parameter: 'loadOhms', at: [78, 41], label: [67, 47] },
    { symbol: 'supply', component: 'VCC', parameter: 'railVolts', at: [30, upperRail], label: [20, 3] },
    { symbol: 'supply', component: 'VEE', at: [22, lowerRail], label: [17.4, 53] },
    { symbol: 'output', at: [79, 25] },
    { symbol: 'ground', at: [43, 34] },
    { symbol: 'ground', at: [74, 38] },
    { symbol: 'ground', at: [78, 45] },
  ],
  wires: [
    [[13, 27], [13, 49], [45, 49]],
    [[13, 33], [16, 33], [16, 35]],
    [[21, 25], [28, 25]],
    [[30, 20], [28, 20], [28, 33]],
    [[28, 33], [32, 33]],
    [[28, 33], [28, 37]],
    [[28, 43], [28, lowerRail]],
    [[36, 20], [38, 20]],
    [[38, upperRail], [38, 8]],
    [[38, 14], [38, 29]],
    [[38, 37], [38, 38]],
    [[38, 44], [38, lowerRail]],
    [[38, 25], [51, 25]],
    [[43, 25], [43, 27]],
    [[43, 33], [43, 34]],
    [[48, 25], [48, 32]],
    [[48, 19], [48, 15], [54, 15]],
    [[48, 38], [54, 38]],
    [[57, 25], [64, 25]],
    [[60, 31], [60, 34]],
    [[62, 25], [62, 49], [51, 49]],
    [[70, 25], [79, 25]],
    [[74, 25], [74, 31]],
    [[74, 37], [74, 38]],
    [[78, 25], [78, 38]],
    [[78, 44], [78, 45]],
    [[30, upperRail], [60, upperRail], [60, 11]],
    [[22, lowerRail], [60, lowerRail], [60, 42]],
  ],
};

const followingInput: Section = {
  placements: [
    { symbol: 'input', component: 'IN', at: [1, 23] },
    { symbol: 'resistor', component: 'RS', parameter: 'sourceOhms', at: [7, 23], turn: 90, label: [2, 18] },
    { symbol: 'resistor', component: 'RI', parameter: 'terminationOhms', at: [10, 29], label: [0.15, 28] },
    { symbol: 'ground', at: [10, 33] },
    { symbol: 'ground', at: [16, 42] },
  ],
  wires: [
    [[1, 23], [4, 23]],
    [[10, 23], [13, 23]],
    [[10, 23], [10, 26]],
    [[10, 32], [10, 33]],
    [[16, 41], [16, 42]],
  ],
};

const invertingInput: Section = {
  placements: [
    { symbol: 'input', component: 'IN', at: [1, 44] },
    { symbol: 'resistor', component: 'RS', parameter: 'sourceOhms', at: [7, 23], turn: 90, label: [2, 18] },
    { symbol: 'resistor', component: 'RI', parameter: 'terminationOhms', at: [6, 48], label: [1, 39] },
    { symbol: 'ground', at: [4, 24] },
    { symbol: 'ground', at: [6, 52] },
  ],
  wires: [
    [[10, 23], [13, 23]],
    [[4, 23], [4, 24]],
    [[1, 44], [16, 44], [16, 41]],
    [[6, 44], [6, 45]],
    [[6, 51], [6, 52]],
  ],
};

export function drawingFor(values: StageValues): Drawing {
  const input = connectionOf(values) === 'inverting' ? invertingInput : followingInput;
  return {
    width: 80,
    height: 55,
    placements: [...amplifier.placements, ...input.placements],
    wires: [...amplifier.wires, ...input.wires],
    values: [{ parameter: 'degenerationOhms', at: [13.5, 12.5] }, { parameter: 'quiescentAmperes', at: [61.8, 12] }],
    nodeReadings: [{ node: 'drive', at: [39.5, 19] }, { node: 'out', at: [70.5, 23.3] }],
  };
}

export const drawing = drawingFor(Object.fromEntries(parameters.map((parameter) => [parameter.id, parameter.default])));
