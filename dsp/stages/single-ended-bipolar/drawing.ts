/** The sheet of the bipolar single-ended stage. */
import { singleEndedDrawing } from '../shared/single-ended-drawing.ts';

export const drawing = singleEndedDrawing({
  device: { symbol: 'bipolar-npn', component: 'Q1' },
  upperDivider: { component: 'RB1', parameter: 'upperDividerOhms' },
  lowerDivider: { component: 'RB2', parameter: 'lowerDividerOhms' },
  supply: { component: 'VCC', parameter: 'supplyVolts' },
  load: { component: 'RC', parameter: 'collectorOhms' },
  degeneration: { component: 'RE1', parameter: 'emitterOhms' },
  bias: { component: 'RE2', parameter: 'bypassedEmitterOhms' },
  bypass: { component: 'CE', parameter: 'bypassFarads' },
  deviceParameters: ['forwardBeta', 'earlyVolts'],
  nodes: { control: 'base', output: 'collector', common: 'emitter' },
});
