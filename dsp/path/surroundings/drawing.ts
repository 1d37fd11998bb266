/** The sheet of the surroundings: source, tie line, the patch that the path takes the place of, tie line, load. */
import type { Drawing } from '../../stages/index.ts';

export const drawing: Drawing = {
  width: 72,
  height: 28,
  placements: [
    { symbol: 'input', component: 'IN', at: [2, 10] },
    { symbol: 'resistor', component: 'RS', parameter: 'sourceOhms', at: [9, 10], turn: 90, label: [7, 5] },
    { symbol: 'capacitor', component: 'CT', parameter: 'tieMetres', at: [19, 16], label: [22, 16] },
    { symbol: 'ground', at: [19, 22] },
    { symbol: 'resistor', component: 'RP', parameter: 'patchOhms', at: [32, 10], turn: 90, label: [30, 5] },
    { symbol: 'capacitor', component: 'CR', parameter: 'returnMetres', at: [44, 16], label: [47, 16] },
    { symbol: 'ground', at: [44, 22] },
    { symbol: 'resistor', component: 'RL', parameter: 'loadOhms', at: [58, 16], label: [61, 16] },
    { symbol: 'ground', at: [58, 22] },
    { symbol: 'output', at: [68, 10] },
  ],
  wires: [
    [[2, 10], [6, 10]],
    [[12, 10], [29, 10]],
    [[19, 10], [19, 13]],
    [[19, 19], [19, 22]],
    [[35, 10], [68, 10]],
    [[44, 10], [44, 13]],
    [[44, 19], [44, 22]],
    [[58, 10], [58, 13]],
    [[58, 19], [58, 22]],
  ],
  values: [],
  nodeReadings: [],
};
