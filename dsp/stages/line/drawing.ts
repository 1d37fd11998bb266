/** The sheet of the line for each way to drive it. */
import type { StageValues } from '../contract.ts';
import type { Drawing, Placement, Point } from '../drawing.ts';
import { choiceOf } from '../shared/values.ts';
import { drivingOf } from './circuit.ts';

const signalY = 14;
const shuntY = 25;
const earthY = 36;
const topLabelY = 7;
type Wire = readonly Point[];

/** The T of the line and its load, from a wire that comes from x = `from`: everything right of x = 52. */
function lineSide(from: number): { readonly placements: readonly Placement[]; readonly wires: readonly Wire[] } {
  return {
    placements: [
      { symbol: 'resistor', component: 'RW1', parameter: 'lineOhmsPerMetre', at: [56, signalY], turn: 90, label: [55, topLabelY] },
      { symbol: 'capacitor', component: 'CW', parameter: 'lineFaradsPerMetre', at: [63, shuntY], label: [66, topLabelY] },
      { symbol: 'resistor', component: 'RW2', at: [69, signalY], turn: 90, label: [68, 19] },
      { symbol: 'resistor', component: 'RL', parameter: 'loadOhms', at: [77, shuntY], label: [66, 29] },
      { symbol: 'output', at: [79, signalY] },
      { symbol: 'ground', at: [70, earthY] },
    ],
    wires: [
      [[from, signalY], [53, signalY]],
      [[59, signalY], [66, signalY]],
      [[63, signalY], [63, shuntY - 3]],
      [[63, shuntY + 3], [63, earthY]],
      [[72, signalY], [79, signalY]],
      [[77, signalY], [77, shuntY - 3]],
      [[63, earthY], [77, earthY], [77, shuntY + 3]],
    ],
  };
}

/** The transformer and its driver: everything left of x = 52. */
function transformerSide(damped: boolean): { readonly placements: readonly Placement[]; readonly wires: readonly Wire[] } {
  return {
    placements: [
      { symbol: 'resistor', component: 'RO', parameter: 'driverOhms', at: [6, signalY], turn: 90, label: [2, topLabelY] },
      { symbol: 'resistor', component: 'RP', parameter: 'primaryOhms', at: [14, signalY], turn: 90, label: [12, topLabelY] },
      { symbol: 'core', component: 'LM', parameter: 'primaryHenries', at: [17, shuntY], label: [20.4, 24] },
      { symbol: 'inductor', component: 'LK', parameter: 'leakageHenries', at: [24, signalY], turn: 90, label: [22, topLabelY] },
      { symbol: 'transformer', component: 'T1', at: [33, signalY + 3], label: [32, topLabelY + 2] },
      { symbol: 'resistor', component: 'RS', parameter: 'secondaryOhms', at: [41, signalY], turn: 90, label: [35.6, topLabelY] },
      { symbol: 'capacitor', component: 'CS', parameter: 'secondaryFarads', at: [46, shuntY], label: [45.4, topLabelY] },
      { symbol: 'ground', at: [24, earthY] },
      { symbol: 'ground', at: [41, earthY] },
      ...(damped ? [
        { symbol: 'resistor', component: 'RD', parameter: 'damperOhms', at: [50, 20], label: [51.7, 20] } as const,
        { symbol: 'capacitor', component: 'CD', parameter: 'damperFarads', at: [50, 30], label: [52.6, 30] } as const,
      ] : []),
    ],
    wires: [
      [[1, signalY], [3, signalY]],
      [[9, signalY], [11, signalY]],
      [[17, signalY], [21, signalY]],
      [[17, signalY], [17, shuntY - 3]],
      [[17, shuntY + 3], [17, earthY], [30, earthY], [30, signalY + 6]],
      [[27, signalY], [30, signalY]],
      [[36, signalY], [38, signalY]],
      [[46, signalY], [46, shuntY - 3]],
      [[46, shuntY + 3], [46, earthY]],
      ...(damped ? [[[50, signalY], [50, 17]], [[50, 23], [50, 27]], [[50, 33], [50, earthY]]] as const : []),
      [[36, signalY + 6], [36, earthY], [damped ? 50 : 46, earthY]],
    ],
  };
}

export function drawingFor(values: StageValues): Drawing {
  const driving = drivingOf(values);
  const input: Placement = { symbol: 'input', component: 'IN', at: [1, signalY] };
  const base = { width: 80, height: 40, values: [], nodeReadings: [] };
  if (driving === 'transformer') {
    const driven = transformerSide(choiceOf(values, 'damper') === 'on');
    const line = lineSide(44);
    return { ...base, placements: [input, ...driven.placements, ...line.placements], wires: [...driven.wires, ...line.wires] };
  }
  const line = lineSide(driving === 'stage-before' ? 1 : 33);
  if (driving === 'stage-before') return { ...base, placements: [input, ...line.placements], wires: line.wires };
  // The resistance that equals the transformer's follows from other values and has none of its own.
  const buildOut: Placement = {
    symbol: 'resistor', component: 'RB', at: [30, signalY], turn: 90, label: [28, topLabelY], ...(driving === 'direct' ? { parameter: 'buildOutOhms' } : {}),
  };
  return { ...base, placements: [input, buildOut, ...line.placements], wires: [[[1, signalY], [27, signalY]], ...line.wires] };
}
