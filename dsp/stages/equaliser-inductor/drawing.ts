/** The sheet of the bell with an inductor: the pot's wiper, a capacitor, a resistor, the coil. */
import type { StageValues } from '../contract.ts';
import type { Drawing } from '../drawing.ts';
import { frame, minusLine, pot, sheet, wiperToLeg } from '../shared/pot-equaliser-drawing.ts';
import type { SheetPart } from '../shared/pot-equaliser-drawing.ts';
import { hasCore } from './circuit.ts';

const coil = (symbol: 'inductor' | 'core'): SheetPart => ({
  placements: [
    { symbol: 'resistor', component: 'RQ', parameter: 'legOhms', at: [14, 31], label: [2, 31] },
    { symbol, component: 'L', parameter: 'coilHenries', at: [14, 40], label: [2, 40] },
    { symbol: 'resistor', component: 'RW', parameter: 'windingOhms', at: [14, 46], label: [2, 46] },
    { symbol: 'capacitor', component: 'CW', parameter: 'windingFarads', at: [22, 43], label: [25, 42] },
    { symbol: 'ground', at: [14, 49] },
  ],
  wires: [
    [[14, 34], [14, 37]],
    [[14, 36], [22, 36], [22, 40]],
    [[22, 46], [22, 49], [14, 49]],
  ],
  values: [],
});

const drawn = (symbol: 'inductor' | 'core'): Drawing => sheet([
  frame, minusLine(26), pot('RV', 26, 'potOhms', 'potPosition'), wiperToLeg({ component: 'CS', parameter: 'seriesFarads' }, 28), coil(symbol),
]);

export const drawing = drawn('inductor');
const withCore = drawn('core');

export const drawingFor = (values: StageValues): Drawing => (hasCore(values) ? withCore : drawing);
