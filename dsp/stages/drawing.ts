/**
 * Circuit drawings as plain data. Everything lies on a grid of 8 px; coordinates are grid units, x to the right, y downward.
 * A contract test reads wires and terminals back into nodes and compares them with the netlist.
 */

/** Grid pitch in px at natural size. */
export const gridPx = 8;

export type Point = readonly [x: number, y: number];

/**
 * Symbols and where their terminals are (grid units from the placement's point, unturned, unmirrored).
 * Two-terminal symbols stand upright; `turn: 90` lays them down (a terminal at (0, −3) comes to (3, 0)).
 * One-terminal symbols: `ground` is the reference node; `supply` is a voltage source from ground to its terminal; `input` is the stage's
 * input source from ground to its terminal; `output` marks the output node.
 */
export const symbolTerminals = {
  resistor: { a: [0, -3], b: [0, 3] },
  capacitor: { a: [0, -3], b: [0, 3] },
  inductor: { a: [0, -3], b: [0, 3] },
  diode: { anode: [0, -3], cathode: [0, 3] },
  'voltage-source': { plus: [0, -3], minus: [0, 3] },
  'current-source': { from: [0, -3], to: [0, 3] },
  'bipolar-npn': { base: [-4, 0], collector: [2, -4], emitter: [2, 4] },
  'bipolar-pnp': { base: [-4, 0], collector: [2, 4], emitter: [2, -4] },
  'field-effect-n': { gate: [-4, 0], drain: [2, -4], source: [2, 4] },
  triode: { grid: [-4, 0], anode: [0, -5], cathode: [0, 5] },
  'op-amp': { inverting: [-4, -2], nonInverting: [-4, 2], output: [4, 0] },
  // A differential pair with its tail and mirror: gives out a current.
  'input-pair': { inverting: [-4, -2], nonInverting: [-4, 2], output: [4, 0] },
  // Conducts either way once the voltage across it is past a limit.
  limiter: { a: [0, -3], b: [0, 3] },
  // An inductor on an iron core.
  core: { a: [0, -3], b: [0, 3] },
  // Two windings that no wire joins; the dots stand at their starts.
  transformer: { primaryStart: [-3, -3], primaryEnd: [-3, 3], secondaryStart: [3, -3], secondaryEnd: [3, 3] },
  ground: { terminal: [0, 0] },
  supply: { terminal: [0, 0] },
  input: { terminal: [0, 0] },
  output: { terminal: [0, 0] },
} as const satisfies Record<string, Record<string, Point>>;

export type SymbolName = keyof typeof symbolTerminals;

/** Where a terminal of a block is found in the netlist: the node in `field` (and of a pair, its entry `index`) of the block's part of this name. */
export interface BlockTerminal {
  readonly part: string;
  readonly field: string;
  readonly index: number;
}

/**
 * Symbols that stand for several components at once: a placement of component "U1" stands for all whose names begin with "U1 ", "U1 pair" among them.
 * Here is which node of theirs each terminal is.
 */
export const blockTerminals = {
  'op-amp': {
    inverting: { part: 'pair', field: 'in', index: 1 }, nonInverting: { part: 'pair', field: 'in', index: 0 }, output: { part: 'output', field: 'out', index: 0 },
  },
  'input-pair': {
    inverting: { part: 'drop', field: 'out', index: 1 }, nonInverting: { part: 'pair', field: 'in', index: 0 }, output: { part: 'pair', field: 'out', index: 1 },
  },
  limiter: { a: { part: 'rise source', field: 'between', index: 0 }, b: { part: 'fall source', field: 'between', index: 0 } },
} as const satisfies Partial<{ readonly [S in SymbolName]: { readonly [T in keyof (typeof symbolTerminals)[S]]: BlockTerminal } }>;

/** One symbol on the sheet. */
export interface Placement {
  readonly symbol: SymbolName;
  /** Component of the netlist it stands for, of a block the name its parts begin with; absent for ground and output. */
  readonly component?: string;
  readonly at: Point;
  /** Clockwise turn. */
  readonly turn?: 0 | 90 | 180 | 270;
  /** Mirrored left to right, before turning. */
  readonly mirrored?: boolean;
  /** Where the designator's baseline starts (grid units, absolute); the value stands on the next line, 18 px below. */
  readonly label?: Point;
  /** Parameter whose editor stands under the designator; a component without one shows only its designator. */
  readonly parameter?: string;
}

/** A value that is not a component's own: a transistor's β, a limit. */
export interface FreeValue {
  readonly parameter: string;
  readonly at: Point;
}

/** Where the computed DC voltage of a node is written. */
export interface NodeReading {
  readonly node: string;
  readonly at: Point;
}

export interface Drawing {
  /** Grid units; natural size at most 80 × 55 (640 × 440 px). */
  readonly width: number;
  readonly height: number;
  readonly placements: readonly Placement[];
  /** Polylines of horizontal and vertical runs. Wires join where ends meet, or where an end or terminal lies on another wire; crossing wires do not join. */
  readonly wires: readonly (readonly Point[])[];
  readonly values: readonly FreeValue[];
  readonly nodeReadings: readonly NodeReading[];
}

/** Component that a netlist's component is drawn as: itself, or the block that it is a part of. */
export function drawnComponent(placements: readonly Placement[], name: string): string {
  const block = placements.find(({ symbol, component }) => symbol in blockTerminals && component !== undefined && name.startsWith(`${component} `));
  return block?.component ?? name;
}

/** Terminal position of a placement on the sheet. */
export function terminalPoint(placement: Placement, terminal: Point): Point {
  const [x0, y0] = terminal;
  const x = placement.mirrored ? -x0 : x0;
  const [px, py] = placement.at;
  switch (placement.turn ?? 0) {
    case 90: return [px - y0, py + x];
    case 180: return [px - x, py - y0];
    case 270: return [px + y0, py - x];
    default: return [px + x, py + y0];
  }
}
