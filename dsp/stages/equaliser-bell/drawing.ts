/** The sheet of the bell: the pot's wiper, a capacitor, and the amplifier that stands for an inductor. */
import { frame, gyrator, minusLine, pot, sheet, wiperToLeg } from '../shared/pot-equaliser-drawing.ts';

export const drawing = sheet([
  frame, minusLine(26), pot('RV', 26, 'potOhms', 'potPosition'), wiperToLeg({ component: 'CS', parameter: 'seriesFarads' }, 43), gyrator,
]);
