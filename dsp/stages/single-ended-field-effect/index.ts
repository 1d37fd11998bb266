/** Single-ended stage, field-effect: a degenerated common source at 4 mA. A square law, so second harmonic; its drain modulation cancels part of it. */
import { circuitStage } from '../shared/circuit-stage.ts';
import { circuit } from './circuit.ts';
import { drawing } from './drawing.ts';
import { mechanisms } from './mechanisms.ts';
import { describe, outputNetwork } from './report.ts';
import { parameters } from './table.ts';

export const singleEndedFieldEffect = circuitStage({
  id: 'single-ended-field-effect',
  title: 'Single-ended stage, field-effect',
  shortTitle: 'field-effect',
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
