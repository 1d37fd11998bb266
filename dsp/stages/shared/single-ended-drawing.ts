/**
 * The sheet of a single-ended stage: pad, coupling and divider at the left, the device between supply and earth, coupling and load at the right.
 * The three kinds differ in the device, its bias parts and its names alone. Grid units of 8 px.
 */
import type { Drawing, FreeValue, NodeReading, Placement, Point } from '../drawing.ts';

/** Component name and the parameter edited under it. */
export interface DrawnPart {
  readonly component: string;
  readonly parameter: string;
}

export interface SingleEndedParts {
  readonly device: { readonly symbol: 'bipolar-npn' | 'field-effect-n' | 'triode'; readonly component: string };
  /** Resistor from the supply to the control electrode; null for a valve's grid leak alone. */
  readonly upperDivider: DrawnPart | null;
  readonly lowerDivider: DrawnPart;
  readonly supply: DrawnPart;
  readonly load: DrawnPart;
  readonly degeneration: DrawnPart;
  readonly bias: DrawnPart;
  readonly bypass: DrawnPart;
  /** The device's own values, from top to bottom. */
  readonly deviceParameters: readonly string[];
  readonly nodes: { readonly control: string; readonly output: string; readonly common: string };
}

const supplyY = 3;
const outputY = 17;
const inputY = 23;
const earthY = 47;
/** Column of the device's output and common electrodes. */
const deviceX = 38;
const upperDividerX = 27;
const lowerDividerX = 25;

function part({ component, parameter }: DrawnPart, symbol: 'resistor' | 'capacitor', at: Point, label: Point, turn?: 90): Placement {
  return { symbol, component, parameter, at, label, ...(turn === undefined ? {} : { turn }) };
}

export function singleEndedDrawing(parts: SingleEndedParts): Drawing {
  const triode = parts.device.symbol === 'triode';
  const deviceAt: Point = [triode ? deviceX : deviceX - 2, inputY];
  const deviceTop = inputY - (triode ? 5 : 4);
  const deviceFoot = inputY + (triode ? 5 : 4);
  const controlX = deviceAt[0] - 4;
  const upper = parts.upperDivider;
  const placements: Placement[] = [
    { symbol: 'input', component: 'IN', at: [1, inputY] },
    part({ component: 'RP1', parameter: 'padSeriesOhms' }, 'resistor', [5, inputY], [1, 17], 90),
    part({ component: 'RP2', parameter: 'padShuntOhms' }, 'resistor', [10, 30], [12, 30]),
    part({ component: 'CIN', parameter: 'inputCouplingFarads' }, 'capacitor', [16, inputY], [12, 17], 90),
    ...(upper === null ? [] : [part(upper, 'resistor', [upperDividerX, 11], [16, 10])]),
    part(parts.lowerDivider, 'resistor', [lowerDividerX, 35], [14, 36]),
    { symbol: 'supply', component: parts.supply.component, parameter: parts.supply.parameter, at: [24, supplyY], label: [12, supplyY] },
    part(parts.load, 'resistor', [deviceX, 11], [40, 10]),
    { symbol: parts.device.symbol, component: parts.device.component, at: deviceAt },
    part(parts.degeneration, 'resistor', [deviceX, 32], [40, 33]),
    part(parts.bias, 'resistor', [deviceX, 41], [27, 41]),
    part(parts.bypass, 'capacitor', [44, 41], [47, 41]),
    part({ component: 'COUT', parameter: 'outputCouplingFarads' }, 'capacitor', [55, outputY], [51, 10], 90),
    part({ component: 'CL', parameter: 'loadFarads' }, 'capacitor', [62, 27], [65, 25]),
    part({ component: 'RL', parameter: 'loadOhms' }, 'resistor', [76, 31], [65, 33]),
    { symbol: 'output', at: [78, outputY] },
    { symbol: 'ground', at: [31, earthY] },
  ];
  const wires: (readonly Point[])[] = [
    [[1, inputY], [2, inputY]],
    [[8, inputY], [13, inputY]],
    [[10, inputY], [10, 27]],
    [[10, 33], [10, earthY]],
    [[19, inputY], [controlX, inputY]],
    [[lowerDividerX, inputY], [lowerDividerX, 32]],
    [[lowerDividerX, 38], [lowerDividerX, earthY]],
    ...(upper === null ? [] : [[[upperDividerX, supplyY], [upperDividerX, 8]], [[upperDividerX, 14], [upperDividerX, inputY]]] as const),
    [[24, supplyY], [deviceX, supplyY], [deviceX, 8]],
    [[deviceX, 14], [deviceX, deviceTop]],
    [[deviceX, outputY], [52, outputY]],
    [[deviceX, deviceFoot], [deviceX, 29]],
    [[deviceX, 35], [deviceX, 38]],
    [[deviceX, 37], [44, 37], [44, 38]],
    [[deviceX, 44], [deviceX, earthY]],
    [[44, 44], [44, earthY]],
    [[58, outputY], [78, outputY]],
    [[62, outputY], [62, 24]],
    [[62, 30], [62, earthY]],
    [[76, outputY], [76, 28]],
    [[10, earthY], [76, earthY], [76, 34]],
  ];
  const values: FreeValue[] = parts.deviceParameters.map((parameter, index) => ({ parameter, at: [45 - (triode ? 0 : 3), 21 + 6 * index] }));
  const nodeReadings: NodeReading[] = [
    { node: parts.nodes.control, at: [26, 26] },
    { node: parts.nodes.output, at: [30, 16] },
    { node: parts.nodes.common, at: [30, 31] },
  ];
  return { width: 79, height: 50, placements, wires, values, nodeReadings };
}
