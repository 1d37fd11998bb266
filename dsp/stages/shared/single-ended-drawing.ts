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

const supplyY = 6;
const outputY = 20;
const inputY = 26;
const earthY = 50;
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
    part({ component: 'RP1', parameter: 'padSeriesOhms' }, 'resistor', [5, inputY], [1, 20], 90),
    part({ component: 'RP2', parameter: 'padShuntOhms' }, 'resistor', [10, 33], [12, 33]),
    part({ component: 'CIN', parameter: 'inputCouplingFarads' }, 'capacitor', [16, inputY], [12, 20], 90),
    ...(upper === null ? [] : [part(upper, 'resistor', [upperDividerX, 14], [16, 13])]),
    part(parts.lowerDivider, 'resistor', [lowerDividerX, 38], [14, 39]),
    { symbol: 'supply', component: parts.supply.component, parameter: parts.supply.parameter, at: [24, supplyY], label: [12, supplyY] },
    part(parts.load, 'resistor', [deviceX, 14], [40, 13]),
    { symbol: parts.device.symbol, component: parts.device.component, at: deviceAt },
    part(parts.degeneration, 'resistor', [deviceX, 35], [40, 36]),
    part(parts.bias, 'resistor', [deviceX, 44], [27, 44]),
    part(parts.bypass, 'capacitor', [44, 44], [47, 44]),
    part({ component: 'COUT', parameter: 'outputCouplingFarads' }, 'capacitor', [56, outputY], [52, 13], 90),
    part({ component: 'CL', parameter: 'loadFarads' }, 'capacitor', [64, 30], [67, 28]),
    part({ component: 'RL', parameter: 'loadOhms' }, 'resistor', [78, 34], [67, 36]),
    { symbol: 'output', at: [79, outputY] },
    { symbol: 'ground', at: [31, earthY] },
  ];
  const wires: (readonly Point[])[] = [
    [[1, inputY], [2, inputY]],
    [[8, inputY], [13, inputY]],
    [[10, inputY], [10, 30]],
    [[10, 36], [10, earthY]],
    [[19, inputY], [controlX, inputY]],
    [[lowerDividerX, inputY], [lowerDividerX, 35]],
    [[lowerDividerX, 41], [lowerDividerX, earthY]],
    ...(upper === null ? [] : [[[upperDividerX, supplyY], [upperDividerX, 11]], [[upperDividerX, 17], [upperDividerX, inputY]]] as const),
    [[24, supplyY], [deviceX, supplyY], [deviceX, 11]],
    [[deviceX, 17], [deviceX, deviceTop]],
    [[deviceX, outputY], [53, outputY]],
    [[deviceX, deviceFoot], [deviceX, 32]],
    [[deviceX, 38], [deviceX, 41]],
    [[deviceX, 40], [44, 40], [44, 41]],
    [[deviceX, 47], [deviceX, earthY]],
    [[44, 47], [44, earthY]],
    [[59, outputY], [79, outputY]],
    [[64, outputY], [64, 27]],
    [[64, 33], [64, earthY]],
    [[78, outputY], [78, 31]],
    [[10, earthY], [78, earthY], [78, 37]],
  ];
  const values: FreeValue[] = parts.deviceParameters.map((parameter, index) => ({ parameter, at: [45 - (triode ? 0 : 3), 24 + 6 * index] }));
  const nodeReadings: NodeReading[] = [
    { node: parts.nodes.control, at: [26, 29] },
    { node: parts.nodes.output, at: [30, 19] },
    { node: parts.nodes.common, at: [30, 34] },
  ];
  return { width: 80, height: 53, placements, wires, values, nodeReadings };
}
