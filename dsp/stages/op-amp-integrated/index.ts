/** Op-amp stage as it is integrated: a slow pair with little current, followers near class B; feedback hides their crossover less and less as frequency rises. */
import { circuitStage } from '../shared/circuit-stage.ts';
import { opAmpLoopProbe } from '../shared/op-amp-loop.ts';
import { connectionOf } from '../shared/op-amp-parts.ts';
import { circuit } from './circuit.ts';
import { drawing, drawingFor } from './drawing.ts';
import { mechanisms } from './mechanisms.ts';
import { describe, outputNetwork, refuse } from './report.ts';
import { parameters } from './table.ts';

export const opAmpIntegrated = circuitStage({
  id: 'op-amp-integrated',
  title: 'Op-amp stage, integrated kind',
  shortTitle: 'op-amp',
  inverts: false,
  invertsFor: (values) => connectionOf(values) === 'inverting',
  cautions: ['line-output'],
  parameters,
  drawing,
  drawingFor,
  circuit,
  outputNetwork,
  mechanisms,
  loopProbe: () => opAmpLoopProbe,
  refuse,
  describe,
});
