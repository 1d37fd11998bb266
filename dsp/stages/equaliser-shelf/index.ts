/** Equaliser shelves as a circuit: two pots between the inputs of one amplifier, one over an inductance that is an amplifier with a capacitor, one over a capacitor. First order both. */
import { circuitStage } from '../shared/circuit-stage.ts';
import { circuit } from './circuit.ts';
import { drawing } from './drawing.ts';
import { curve, describe, outputNetwork } from './report.ts';
import { parameters } from './table.ts';
import { opAmpMechanisms } from '../shared/mechanisms.ts';
import { opAmpProbe } from '../shared/op-amp-block.ts';

export const equaliserShelf = circuitStage({
  id: 'equaliser-shelf',
  title: 'Equaliser shelves, circuit',
  shortTitle: 'shelves',
  inverts: false,
  cautions: ['line-output'],
  parameters,
  drawing,
  circuit,
  outputNetwork,
  mechanisms: () => opAmpMechanisms(['U1', 'U2']),
  loopProbe: () => opAmpProbe('U1'),
  refuse: () => null,
  describe,
  curve,
});
