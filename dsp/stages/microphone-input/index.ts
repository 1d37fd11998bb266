/**
 * Microphone input: 20 to 60 dB from a 150 Ω source, by a bipolar pair with an amplifier, or by a step-up transformer with one. A pad of the microphone's own resistance takes line level
 * down to what a microphone gives, so that the stage stands in a path like any other.
 */
import { circuitStage } from '../shared/circuit-stage.ts';
import { opAmpProbe } from '../shared/op-amp-block.ts';
import { circuit, refuse } from './circuit.ts';
import { drawing, drawingFor } from './drawing.ts';
import { mechanisms } from './mechanisms.ts';
import { describe, outputNetwork } from './report.ts';
import { parameters, relevant } from './table.ts';

export const microphoneInput = circuitStage({
  id: 'microphone-input',
  title: 'Microphone input',
  shortTitle: 'microphone',
  inverts: false,
  cautions: ['line-output'],
  parameters,
  relevant,
  drawing,
  drawingFor,
  circuit,
  outputNetwork,
  mechanisms,
  loopProbe: () => opAmpProbe('U1'),
  refuse,
  describe,
});
