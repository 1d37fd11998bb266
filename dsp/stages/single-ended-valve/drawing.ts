/** The sheet of the valve single-ended stage. */
import { singleEndedDrawing } from '../shared/single-ended-drawing.ts';

export const drawing = singleEndedDrawing({
  device: { symbol: 'triode', component: 'V1' },
  upperDivider: null,
  lowerDivider: { component: 'RG', parameter: 'gridLeakOhms' },
  supply: { component: 'VHT', parameter: 'supplyVolts' },
  load: { component: 'RA', parameter: 'anodeOhms' },
  degeneration: { component: 'RK1', parameter: 'cathodeOhms' },
  bias: { component: 'RK2', parameter: 'bypassedCathodeOhms' },
  bypass: { component: 'CK', parameter: 'bypassFarads' },
  deviceParameters: ['mu', 'perveance'],
  nodes: { control: 'grid', output: 'anode', common: 'cathode' },
});
