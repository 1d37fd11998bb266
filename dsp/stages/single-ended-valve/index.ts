/** Single-ended stage, valve: a generic medium-mu triode. Little third harmonic; grid current on peaks shifts its bias; it cannot drive a line. */
import { circuitStage } from '../shared/circuit-stage.ts';
import { circuit } from './circuit.ts';
import { drawing } from './drawing.ts';
import { mechanisms } from './mechanisms.ts';
import { describe, outputNetwork } from './report.ts';
import { parameters } from './table.ts';

export const singleEndedValve = circuitStage({
  id: 'single-ended-valve',
  title: 'Single-ended stage, valve',
  shortTitle: 'valve',
  inverts: true,
  cautions: ['lethal-voltage', 'line-output'],
  parameters,
  drawing,
  circuit,
  outputNetwork,
  mechanisms,
  refuse: () => null,
  describe,
});
