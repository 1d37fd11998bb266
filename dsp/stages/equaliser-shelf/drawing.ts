/** The sheet of the shelves: the low pot's wiper on the amplifier that stands for an inductor, the high pot's on a resistor and a capacitor. */
import { frame, gyrator, minusLine, pot, sheet } from '../shared/pot-equaliser-drawing.ts';
import type { SheetPart } from '../shared/pot-equaliser-drawing.ts';

const lowLeg: SheetPart = { placements: [], wires: [[[18, 19], [14, 19], [14, 43]]], values: [] };

/** Its wire crosses the − inputs' line. */
const highLeg: SheetPart = {
  placements: [
    { symbol: 'resistor', component: 'RH', parameter: 'highOhms', at: [51, 27], turn: 90, label: [48, 22] },
    { symbol: 'capacitor', component: 'CH', parameter: 'highFarads', at: [57, 31], label: [60, 31] },
    { symbol: 'ground', at: [57, 34] },
  ],
  wires: [[[31, 19], [43, 19], [43, 27], [48, 27]], [[54, 27], [57, 27], [57, 28]]],
  values: [],
};

export const drawing = sheet([
  frame, minusLine(18), pot('RVL', 18, 'lowPotOhms', 'lowPosition'), pot('RVH', 31, 'highPotOhms', 'highPosition', 21.5), lowLeg, gyrator, highLeg,
]);
