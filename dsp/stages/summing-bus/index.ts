/**
 * Summing bus: 2 to 64 sources through mix resistors into a virtual earth. The programme comes from one of them; what the others cost is noise gain N + 1, bandwidth, margin and
 * the crosstalk that the virtual earth leaves.
 */
import { circuitStage } from '../shared/circuit-stage.ts';
import { circuit, refuse } from './circuit.ts';
import { drawing } from './drawing.ts';
import { describe, outputNetwork } from './report.ts';
import { parameters } from './table.ts';
import { opAmpMechanisms } from '../shared/mechanisms.ts';
import { opAmpProbe } from '../shared/op-amp-block.ts';

export const summingBus = circuitStage({
  id: 'summing-bus',
  title: 'Summing bus',
  shortTitle: 'summing bus',
  inverts: true,
  cautions: ['line-output'],
  parameters,
  drawing,
  circuit,
  outputNetwork,
  mechanisms: () => opAmpMechanisms(['U1']),
  loopProbe: () => opAmpProbe('U1'),
  refuse,
  describe,
});
