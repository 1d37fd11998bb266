/** The sheets of the equalisers round one amplifier: the arms, the amplifier, its output and the pots; each stage adds the legs at its wipers. Grid units of 8 px. */
import type { Drawing, FreeValue, Placement, Point } from '../drawing.ts';

type Wires = readonly (readonly Point[])[];

export interface SheetPart {
  readonly placements: readonly Placement[];
  readonly wires: Wires;
  readonly values: readonly FreeValue[];
}

const plusY = 8;
const wiperY = 19;
const minusBusY = 30;
const minusX = 44;

/** Arms, amplifier, build-out and load. The + inputs' line runs at y = 8 from x = 11, the − inputs' at y = 30 to x = 44. */
export const frame: SheetPart = {
  placements: [
    { symbol: 'input', component: 'IN', at: [1, plusY] },
    { symbol: 'resistor', component: 'RA', parameter: 'armOhms', at: [8, plusY], turn: 90, label: [4, 3] },
    { symbol: 'op-amp', component: 'U1', at: [52, 10], mirrored: true, turn: 180, label: [51, 5] },
    { symbol: 'resistor', component: 'RB', at: [52, 18], turn: 90, label: [51, 15.8] },
    { symbol: 'resistor', component: 'RO', parameter: 'buildOutOhms', at: [65, 10], turn: 90, label: [61, 5] },
    { symbol: 'resistor', component: 'RL', parameter: 'loadOhms', at: [73, 18], label: [62, 18] },
    { symbol: 'output', at: [77, 10] },
    { symbol: 'ground', at: [73, 21] },
  ],
  wires: [
    [[1, plusY], [5, plusY]],
    [[11, plusY], [48, plusY]],
    [[minusX, 12], [48, 12]],
    [[minusX, 12], [minusX, minusBusY]],
    [[minusX, 18], [49, 18]],
    [[55, 18], [60, 18], [60, 10]],
    [[56, 10], [62, 10]],
    [[68, 10], [77, 10]],
    [[73, 10], [73, 15]],
  ],
  values: [],
};

/** A pot between the inputs' lines, its wiper at y = 19, its travel written at `positionY`. `name` is that of its halves without their last letter. */
export function pot(name: string, x: number, ohms: string, position: string, positionY = 20): SheetPart {
  return {
    placements: [
      { symbol: 'resistor', component: `${name}A`, parameter: ohms, at: [x, 14], label: [x + 2, 13.5] },
      { symbol: 'resistor', component: `${name}B`, at: [x, 24], label: [x + 2, positionY + 5.7] },
    ],
    wires: [[[x, plusY], [x, 11]], [[x, 17], [x, 21]], [[x, 27], [x, minusBusY]]],
    values: [{ parameter: position, at: [x + 2, positionY] }],
  };
}

/** The − inputs' line, from the first pot on. */
export const minusLine = (fromX: number): SheetPart => ({ placements: [], wires: [[[fromX, minusBusY], [minusX, minusBusY]]], values: [] });

/** From a wiper at (26, 19) through a capacitor to the line at x = 14, which ends at `toY`. */
export const wiperToLeg = (capacitor: { readonly component: string; readonly parameter: string }, toY: number): SheetPart => ({
  placements: [{ symbol: 'capacitor', ...capacitor, at: [14, 23], label: [2, 23] }],
  wires: [[[26, wiperY], [14, wiperY], [14, 20]], [[14, 26], [14, toY]]],
  values: [],
});

/** The amplifier that stands for an inductor, from the line at x = 14: RQ to its output, CG and RG at its + input. */
export const gyrator: SheetPart = {
  placements: [
    { symbol: 'resistor', component: 'RQ', parameter: 'legOhms', at: [20, 34], turn: 90, label: [17, 37] },
    { symbol: 'capacitor', component: 'CG', parameter: 'gyratorFarads', at: [20, 43], turn: 90, label: [15, 47] },
    { symbol: 'resistor', component: 'RG', parameter: 'gyratorOhms', at: [27, 46], label: [29, 46] },
    { symbol: 'op-amp', component: 'U2', at: [42, 41], label: [41, 47] },
    { symbol: 'ground', at: [27, 49] },
  ],
  wires: [
    [[14, 34], [17, 34]],
    [[14, 43], [17, 43]],
    [[23, 43], [38, 43]],
    [[23, 34], [50, 34], [50, 41], [46, 41]],
    [[38, 39], [36, 39], [36, 34]],
  ],
  values: [],
};

export function sheet(parts: readonly SheetPart[]): Drawing {
  return {
    width: 79, height: 52,
    placements: parts.flatMap(({ placements }) => placements), wires: parts.flatMap(({ wires }) => wires), values: parts.flatMap(({ values }) => values),
    nodeReadings: [],
  };
}
