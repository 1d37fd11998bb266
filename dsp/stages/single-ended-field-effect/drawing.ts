/** The sheet of the field-effect single-ended stage. */
import { singleEndedDrawing } from '../shared/single-ended-drawing.ts';

export const drawing = singleEndedDrawing({
  device: { symbol: 'field-effect-n', component: 'J1' },
  upperDivider: { component: 'RG1', parameter: 'upperDividerOhms' },
  lowerDivider: { component: 'RG2', parameter: 'lowerDividerOhms' },
  supply: { component: 'VDD', parameter: 'supplyVolts' },
  load: { component: 'RD', parameter: 'drainOhms' },
  degeneration: { component: 'RS1', parameter: 'sourceOhms' },
  bias: { component: 'RS2', parameter: 'bypassedSourceOhms' },
  bypass: { component: 'CS', parameter: 'bypassFarads' },
  deviceParameters: ['thresholdVolts', 'betaAmperesPerVolt2'],
  nodes: { control: 'gate', output: 'drain', common: 'source' },
});
