/** A line to a load: capacitance, resistance, and the three fair ways to drive it. */
import { circuitStage } from '../shared/circuit-stage.ts';
import { circuit, drivingOf, outputNetwork, transformerOf } from './circuit.ts';
import { drawingFor } from './drawing.ts';
import { describe } from './report.ts';
import { parameters, relevant } from './table.ts';
import { coreOfWinding } from '../shared/mechanisms.ts';

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
  mechanisms: (values) => (drivingOf(values) === 'transformer' && transformerOf(values).core !== null ? [coreOfWinding('LM')] : []),
  refuse: () => null,
  describe,
});
