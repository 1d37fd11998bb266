/** Single-ended stage, bipolar: a degenerated common emitter at 5 mA. Second harmonic leads and falls with the level; no crossover is possible. */
import { circuitStage } from '../shared/circuit-stage.ts';
import { circuit } from './circuit.ts';
import { drawing } from './drawing.ts';
import { mechanisms } from './mechanisms.ts';
import { describe, outputNetwork } from './report.ts';
import { parameters } from './table.ts';

export const singleEndedBipolar = circuitStage({
  id: 'single-ended-bipolar',
  title: 'Single-ended stage, bipolar',
  shortTitle: 'single-ended',
  inverts: true,
  cautions: ['line-output'],
  parameters,
  drawing,
  circuit,
  outputNetwork,
  mechanisms,
  refuse: () => null,
  describe,
});
