/** Output transformer, 1:1: isolates, loses a little, and resonates with the line behind it. */
import type { StageValues } from '../contract.ts';
import { circuitStage } from '../shared/circuit-stage.ts';
import { coreOfWinding } from '../shared/mechanisms.ts';
import { refuseDirectCurrent } from '../shared/transformer-core.ts';
import { actsIn } from '../shared/transformer-relevant.ts';
import { transformerDrawing } from '../shared/transformer-drawing.ts';
import { circuit, designOf, outputNetwork } from './circuit.ts';
import { describe } from './report.ts';
import { parameters } from './table.ts';

const drawingFor = (values: StageValues) => transformerDrawing({ source: 'buildOutOhms', loadFarads: 'lineMetres' }, values);

export const transformerOutput = circuitStage({
  id: 'transformer-output',
  title: 'Output transformer',
  shortTitle: 'transformer',
  inverts: false,
  cautions: ['line-output'],
  parameters,
  drawing: drawingFor(Object.fromEntries(parameters.map((parameter) => [parameter.id, parameter.default]))),
  drawingFor,
  relevant: (values) => parameters.map(({ id }) => id).filter((id) => actsIn(values, id)),
  circuit,
  outputNetwork,
  mechanisms: (values) => (designOf(values).core === null ? [] : [coreOfWinding('LM')]),
  refuse: (values) => refuseDirectCurrent(designOf(values), designOf(values).directAmperes, 'directAmperes'),
  describe,
});
