/** Input transformer, 1 to 10 for a microphone: isolates, and lifts the signal before anything adds noise. */
import type { StageValues } from '../contract.ts';
import { circuitStage } from '../shared/circuit-stage.ts';
import { coreOfWinding } from '../shared/mechanisms.ts';
import { refuseDirectCurrent } from '../shared/transformer-core.ts';
import { actsIn } from '../shared/transformer-relevant.ts';
import { transformerDrawing } from '../shared/transformer-drawing.ts';
import { circuit, designOf, outputNetwork } from './circuit.ts';
import { describe } from './report.ts';
import { parameters } from './table.ts';

const drawingFor = (values: StageValues) => transformerDrawing({ source: 'sourceOhms', loadFarads: 'loadFarads' }, values);

export const transformerInput = circuitStage({
  id: 'transformer-input',
  title: 'Input transformer',
  shortTitle: 'in transf.',
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
