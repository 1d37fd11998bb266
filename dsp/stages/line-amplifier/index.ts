/** Line amplifier: two gain transistors and a class-A output into a gapped transformer, with overall feedback. Low orders, uneven clipping, and a core that carries direct current. */
import { circuitStage } from '../shared/circuit-stage.ts';
import { circuit, refuse } from './circuit.ts';
import { drawing } from './drawing.ts';
import { describe, outputNetwork } from './report.ts';
import { parameters } from './table.ts';

export const lineAmplifier = circuitStage({
  id: 'line-amplifier',
  title: 'Line amplifier, class A',
  shortTitle: 'line amp',
  inverts: true,
  cautions: ['line-output'],
  parameters,
  drawing,
  circuit,
  outputNetwork,
  refuse,
  describe,
});
