/** Push-pull stage: complementary followers into a line, from class B through AB to A by one value. Crossover harmonics rise as the level falls. */
import { circuitStage } from '../shared/circuit-stage.ts';
import { circuit, refuse } from './circuit.ts';
import { drawing } from './drawing.ts';
import { mechanisms } from './mechanisms.ts';
import { describe, outputNetwork } from './report.ts';
import { parameters, relevant } from './table.ts';

export const pushPull = circuitStage({
  id: 'push-pull',
  title: 'Push-pull stage',
  shortTitle: 'push-pull',
  inverts: false,
  cautions: ['line-output'],
  parameters,
  relevant,
  drawing,
  circuit,
  outputNetwork,
  mechanisms,
  refuse,
  describe,
});
