/** A line to a load: capacitance, resistance, and the three fair ways to drive it. */
import { circuitStage } from '../shared/circuit-stage.ts';
import { circuit, outputNetwork } from './circuit.ts';
import { drawingFor } from './drawing.ts';
import { describe } from './report.ts';
import { parameters, relevant } from './table.ts';

export const line = circuitStage({
  id: 'line',
  title: 'Line',
  shortTitle: 'line',
  inverts: false,
  cautions: ['line-output'],
  parameters,
  drawing: drawingFor(Object.fromEntries(parameters.map((parameter) => [parameter.id, parameter.default]))),
  drawingFor,
  relevant,
  circuit,
  outputNetwork,
  refuse: () => null,
  describe,
});
