/** The sheet of a transformer: driven side at the left, secondary at the right, each on a ground of its own. */
import type { Drawing, Placement, Point } from '../drawing.ts';
import type { StageValues } from '../contract.ts';
import { choiceOf } from './values.ts';

/** Whose value stands at a part that is not the same parameter in every transformer stage. */
export interface TransformerSheet {
  readonly source: string;
  readonly loadFarads: string;
}

const signalY = 14;
const shuntY = 25;
const earthY = 36;
const topLabelY = 7;

/** The sheet for these values: `damper` "on", `core` "hysteresis" and `gap` "gapped" show what they wire. */
export function transformerDrawing(sheet: TransformerSheet, values: StageValues): Drawing {
  const gapped = choiceOf(values, 'gap') === 'gapped';
  const damped = choiceOf(values, 'damper') === 'on';
  const shunt = (x: number): (readonly Point[])[] => [[[x, signalY], [x, shuntY - 3]], [[x, shuntY + 3], [x, earthY]]];
  const placements: Placement[] = [
    { symbol: 'input', component: 'IN', at: [1, signalY] },
    { symbol: 'resistor', component: 'RO', parameter: sheet.source, at: [6, signalY], turn: 90, label: [2, topLabelY] },
    { symbol: 'capacitor', component: 'CP', parameter: 'primaryFarads', at: [11, shuntY], label: [0.1, 24] },
    { symbol: 'resistor', component: 'RP', parameter: 'primaryOhms', at: [16, signalY], turn: 90, label: [12, topLabelY] },
    { symbol: 'core', component: 'LM', parameter: 'primaryHenries', at: [27, shuntY], label: [30.3, 24] },
    { symbol: 'inductor', component: 'LK', parameter: 'leakageHenries', at: [34, signalY], turn: 90, label: [30, topLabelY] },
    { symbol: 'transformer', component: 'T1', parameter: 'turnsRatio', at: [43, signalY + 3], label: [40, topLabelY] },
    { symbol: 'resistor', component: 'RS', parameter: 'secondaryOhms', at: [51, signalY], turn: 90, label: [50, topLabelY] },
    { symbol: 'capacitor', component: 'CS', parameter: 'secondaryFarads', at: [56, shuntY], label: [60, topLabelY] },
    { symbol: 'capacitor', component: 'CL', parameter: sheet.loadFarads, at: [74, shuntY], label: [70, topLabelY] },
    { symbol: 'resistor', component: 'RL', parameter: 'loadOhms', at: [78, shuntY], label: [70, 41] },
    { symbol: 'output', at: [79, signalY] },
    { symbol: 'ground', at: [15, earthY] },
    { symbol: 'ground', at: [52, earthY] },
    ...(gapped ? [{ symbol: 'current-source', component: 'IDC', parameter: 'directAmperes', at: [22, shuntY], turn: 180, label: [18, 41] } as const] : []),
    ...(damped ? [
      { symbol: 'resistor', component: 'RD', parameter: 'damperOhms', at: [60, 20], label: [62, 19] } as const,
      { symbol: 'capacitor', component: 'CD', parameter: 'damperFarads', at: [60, 30], label: [62.6, 30] } as const,
    ] : []),
  ];
  const wires: (readonly Point[])[] = [
    [[1, signalY], [3, signalY]],
    [[9, signalY], [13, signalY]],
    ...shunt(11),
    [[19, signalY], [31, signalY]],
    ...shunt(27),
    ...(gapped ? shunt(22) : []),
    [[37, signalY], [40, signalY]],
    [[11, earthY], [40, earthY], [40, signalY + 6]],
    [[46, signalY], [48, signalY]],
    [[54, signalY], [79, signalY]],
    ...shunt(56),
    ...(damped ? [[[60, signalY], [60, 17]], [[60, 23], [60, 27]], [[60, 33], [60, earthY]]] as const : []),
    ...shunt(74),
    [[78, signalY], [78, shuntY - 3]],
    [[46, signalY + 6], [46, earthY], [78, earthY], [78, shuntY + 3]],
  ];
  return { width: 80, height: 44, placements, wires, values: [], nodeReadings: [] };
}
