/** The sheet of the discrete op-amp stage: pair and mirror at the left, second stage in the middle, output and load at the right; feedback along the foot. */
import type { StageValues } from '../contract.ts';
import type { Drawing, FreeValue, NodeReading, Placement, Point } from '../drawing.ts';
import { connectionOf } from '../shared/op-amp-parts.ts';
import { outputKindOf } from './circuit.ts';
import { parameters } from './table.ts';

type Wire = readonly Point[];

/** A part of the sheet. */
interface Section {
  readonly placements: readonly Placement[];
  readonly wires: readonly Wire[];
  readonly values?: readonly FreeValue[];
  readonly nodeReadings?: readonly NodeReading[];
}

const upperRail = 3;
const lowerRail = 53;

/** Mirror over pair over tail; the second stage with its compensation and sink; feedback along y = 36. */
const amplifier: Section = {
  placements: [
    { symbol: 'supply', component: 'VCC', parameter: 'railVolts', at: [11, upperRail], label: [1, 3] },
    { symbol: 'supply', component: 'VEE', at: [11, lowerRail], label: [6.4, 53] },
    { symbol: 'resistor', component: 'RM2', at: [18, 7] },
    { symbol: 'resistor', component: 'RM1', at: [30, 7] },
    { symbol: 'bipolar-pnp', component: 'Q4', at: [20, 14], mirrored: true },
    { symbol: 'bipolar-pnp', component: 'Q3', at: [28, 14] },
    { symbol: 'bipolar-npn', component: 'Q2', at: [16, 27] },
    { symbol: 'bipolar-npn', component: 'Q1', at: [32, 27], mirrored: true },
    { symbol: 'resistor', component: 'RE2', at: [18, 34] },
    { symbol: 'resistor', component: 'RE1', parameter: 'degenerationOhms', at: [30, 34], label: [20, 33.3] },
    { symbol: 'current-source', component: 'IT', parameter: 'tailAmperes', at: [24, 42], label: [13, 43] },
    { symbol: 'bipolar-pnp', component: 'Q5', at: [46, 13] },
    { symbol: 'resistor', component: 'R5', at: [48, 6] },
    { symbol: 'capacitor', component: 'CC', parameter: 'compensationFarads', at: [42, 21], turn: 90, label: [38, 25] },
    { symbol: 'current-source', component: 'IS', parameter: 'secondStageAmperes', at: [48, 45], mirrored: true, label: [50.5, 47.85] },
    { symbol: 'diode', component: 'D1', at: [52, 32], turn: 180 },
    { symbol: 'supply', component: 'VL', at: [52, 35] },
    { symbol: 'resistor', component: 'RB', at: [52, 27], turn: 90 },
    { symbol: 'resistor', component: 'RF', parameter: 'feedbackOhms', at: [42, 36], turn: 90, label: [38, 31] },
    { symbol: 'resistor', component: 'RG', parameter: 'gainOhms', at: [36, 42], label: [38, 39.5] },
  ],
  wires: [
    [[18, upperRail], [18, 4]],
    [[30, upperRail], [30, 4]],
    [[24, 14], [24, 20], [30, 20]],
    [[18, 18], [18, 23]],
    [[30, 18], [30, 23]],
    [[18, 21], [39, 21]],
    [[37, 21], [37, 13], [42, 13]],
    [[45, 21], [48, 21]],
    [[18, 37], [18, 38], [30, 38], [30, 37]],
    [[24, 38], [24, 39]],
    [[24, 45], [24, lowerRail]],
    [[48, 17], [48, 42]],
    [[48, 48], [48, lowerRail]],
    [[48, 27], [49, 27]],
    [[48, 29], [52, 29]],
    [[36, 27], [36, 39]],
    [[39, 36], [36, 36]],
  ],
  nodeReadings: [{ node: 'second', at: [49, 18.5] }],
};

const followingInput: Section = {
  placements: [
    { symbol: 'input', component: 'IN', at: [1, 27] },
    { symbol: 'resistor', component: 'RS', parameter: 'sourceOhms', at: [7, 27], turn: 90, label: [2, 22] },
    { symbol: 'resistor', component: 'RI', parameter: 'terminationOhms', at: [11, 33], label: [1, 32] },
    { symbol: 'ground', at: [11, 37] },
    { symbol: 'ground', at: [36, 46] },
  ],
  wires: [
    [[1, 27], [4, 27]],
    [[10, 27], [12, 27]],
    [[11, 27], [11, 30]],
    [[11, 36], [11, 37]],
    [[36, 45], [36, 46]],
  ],
};

const invertingInput: Section = {
  placements: [
    { symbol: 'input', component: 'IN', at: [1, 40] },
    { symbol: 'resistor', component: 'RS', parameter: 'sourceOhms', at: [7, 27], turn: 90, label: [2, 22] },
    { symbol: 'resistor', component: 'RI', parameter: 'terminationOhms', at: [5, 44], label: [1, 35] },
    { symbol: 'limiter', component: 'L1', at: [32, 42] },
    { symbol: 'ground', at: [32, 45] },
    { symbol: 'ground', at: [4, 28] },
    { symbol: 'ground', at: [5, 48] },
  ],
  wires: [
    [[10, 27], [12, 27]],
    [[4, 27], [4, 28]],
    [[1, 40], [10, 40], [10, 48], [36, 48], [36, 45]],
    [[5, 40], [5, 41]],
    [[5, 47], [5, 48]],
    [[36, 38], [32, 38], [32, 39]],
  ],
};

/** One follower over its sink. */
const singleEnded: Section = {
  placements: [
    { symbol: 'bipolar-npn', component: 'Q6', at: [59, 27] },
    { symbol: 'current-source', component: 'IO', parameter: 'idleAmperes', at: [61, 44], mirrored: true, label: [63.7, 42.5] },
    { symbol: 'resistor', component: 'RO', parameter: 'buildOutOhms', at: [66, 33], turn: 90, label: [62.5, 37] },
    { symbol: 'capacitor', component: 'CL', parameter: 'loadFarads', at: [74, 39], label: [65, 49.5] },
    { symbol: 'resistor', component: 'RL', parameter: 'loadOhms', at: [78, 44], label: [70.5, 25] },
    { symbol: 'output', at: [79, 33] },
    { symbol: 'ground', at: [74, 43] },
    { symbol: 'ground', at: [78, 48] },
  ],
  wires: [
    [[11, upperRail], [61, upperRail], [61, 23]],
    [[11, lowerRail], [61, lowerRail], [61, 47]],
    [[61, 31], [61, 41]],
    [[61, 33], [63, 33]],
    [[61, 36], [45, 36]],
    [[69, 33], [79, 33]],
    [[74, 33], [74, 36]],
    [[74, 42], [74, 43]],
    [[78, 33], [78, 41]],
    [[78, 47], [78, 48]],
  ],
  nodeReadings: [{ node: 'amplifier', at: [62.5, 30.8] }],
};

/** Two followers, each behind its half of the bias. */
const complementary: Section = {
  placements: [
    { symbol: 'voltage-source', component: 'VB1', at: [56, 22] },
    { symbol: 'voltage-source', component: 'VB2', at: [56, 32] },
    { symbol: 'bipolar-npn', component: 'Q6', at: [62, 15] },
    { symbol: 'bipolar-pnp', component: 'Q7', at: [62, 41] },
    { symbol: 'resistor', component: 'RE6', parameter: 'emitterOhms', at: [64, 24], label: [66, 15] },
    { symbol: 'resistor', component: 'RE7', at: [64, 30] },
    { symbol: 'resistor', component: 'RO', parameter: 'buildOutOhms', at: [70, 27], turn: 90, label: [67, 21] },
    { symbol: 'capacitor', component: 'CL', parameter: 'loadFarads', at: [74, 35], label: [67, 45] },
    { symbol: 'resistor', component: 'RL', parameter: 'loadOhms', at: [78, 44], label: [67, 51] },
    { symbol: 'output', at: [79, 27] },
    { symbol: 'ground', at: [74, 39] },
    { symbol: 'ground', at: [78, 48] },
  ],
  wires: [
    [[11, upperRail], [64, upperRail], [64, 11]],
    [[11, lowerRail], [64, lowerRail], [64, 45]],
    [[55, 27], [56, 27]],
    [[56, 25], [56, 29]],
    [[56, 19], [56, 15], [58, 15]],
    [[56, 35], [56, 41], [58, 41]],
    [[64, 19], [64, 21]],
    [[64, 33], [64, 37]],
    [[64, 27], [67, 27]],
    [[66, 27], [66, 36], [45, 36]],
    [[73, 27], [79, 27]],
    [[74, 27], [74, 32]],
    [[74, 38], [74, 39]],
    [[78, 27], [78, 41]],
    [[78, 47], [78, 48]],
  ],
  values: [{ parameter: 'idleAmperes', at: [66, 9] }],
  nodeReadings: [{ node: 'amplifier', at: [67, 30] }],
};

export function drawingFor(values: StageValues): Drawing {
  const sections = [amplifier, connectionOf(values) === 'inverting' ? invertingInput : followingInput, outputKindOf(values) === 'class-a' ? singleEnded : complementary];
  return {
    width: 80,
    height: 55,
    placements: sections.flatMap(({ placements }) => placements),
    wires: sections.flatMap(({ wires }) => wires),
    values: sections.flatMap(({ values: free = [] }) => free),
    nodeReadings: sections.flatMap(({ nodeReadings = [] }) => nodeReadings),
  };
}

export const drawing = drawingFor(Object.fromEntries(parameters.map((parameter) => [parameter.id, parameter.default])));
