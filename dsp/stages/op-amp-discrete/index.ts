/** Op-amp stage of single transistors, fast, with a class-A output: distortion far below the loop's own noise until the sink or a rail ends it. */
import type { StageDefinition } from '../contract.ts';
import { circuitStage } from '../shared/circuit-stage.ts';
import { opAmpLoopProbe } from '../shared/op-amp-loop.ts';
import { connectionOf } from '../shared/op-amp-parts.ts';
import { circuit, outputKindOf } from './circuit.ts';
import { drawing, drawingFor } from './drawing.ts';
import { mechanisms } from './mechanisms.ts';
import { describe, outputNetwork, refuse } from './report.ts';
import { parameters } from './table.ts';

export const opAmpDiscrete: StageDefinition = {
  ...circuitStage({
    id: 'op-amp-discrete',
    title: 'Op-amp stage, discrete',
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
  }),
  // The emitter resistors are those of the complementary output alone.
  relevant: (values) => parameters.map(({ id }) => id).filter((id) => id !== 'emitterOhms' || outputKindOf(values) === 'complementary'),
};
