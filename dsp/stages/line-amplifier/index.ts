/**
 * Line amplifier: two gain transistors and a class-A output into a gapped transformer, with overall feedback. Low orders, uneven clipping, and a core that carries direct current.
 */
import type { StageDefinition } from '../contract.ts';
import { circuitStage } from '../shared/circuit-stage.ts';
import { actsIn } from '../shared/transformer-relevant.ts';
import { choiceOf } from '../shared/values.ts';
import { circuit, refuse } from './circuit.ts';
import { drawing } from './drawing.ts';
import { mechanisms } from './mechanisms.ts';
import { describe, loopProbe, outputNetwork } from './report.ts';
import { parameters } from './table.ts';

const stage = circuitStage({
  id: 'line-amplifier',
  title: 'Line amplifier, class A',
  shortTitle: 'line amp',
  inverts: false,
  cautions: ['line-output'],
  parameters,
  drawing,
  relevant: (values) => parameters.map(({ id }) => id).filter((id) => actsIn(values, id)),
  circuit,
  outputNetwork,
  mechanisms,
  loopProbe: () => loopProbe,
  refuse,
  describe,
});

export const lineAmplifier: StageDefinition = {
  ...stage,
  /** Looked for with an ideal core: at 1 kHz a real one adds nothing, and a steady state with its memory takes far longer to find once the device clips. */
  clipOutputDbu: (values, program) => stage.clipOutputDbu(values, program.kind === 'circuit' && choiceOf(values, 'core') !== 'ideal'
    ? stage.program({ ...values, core: 'ideal' }, { rateHz: program.circuit.rateHz, source: null }) : program),
};
