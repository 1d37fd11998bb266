/**
 * Equaliser bell as a circuit: a pot between the inputs of one amplifier, its wiper on a series resonance whose inductor is a second amplifier with a capacitor. That inner node
 * swings Q times what goes through the leg, and may clip while the output is still far from its rails.
 */
import { refuseCentre } from '../shared/bell.ts';
import { bellCurve, bellOutputNetwork, describeBell } from '../shared/bell-report.ts';
import { circuitStage } from '../shared/circuit-stage.ts';
import { opAmpMechanisms } from '../shared/mechanisms.ts';
import { opAmpProbe } from '../shared/op-amp-block.ts';
import { numberOf } from '../shared/values.ts';
import { circuit, leg } from './circuit.ts';
import { drawing } from './drawing.ts';
import { bell } from './report.ts';
import { parameters } from './table.ts';

export const equaliserBell = circuitStage({
  id: 'equaliser-bell',
  title: 'Equaliser bell, circuit',
  shortTitle: 'bell circuit',
  inverts: false,
  cautions: ['line-output'],
  parameters,
  drawing,
  circuit,
  outputNetwork: bellOutputNetwork,
  mechanisms: () => opAmpMechanisms(['U1', 'U2']),
  loopProbe: () => opAmpProbe('U1'),
  refuse: (values) => refuseCentre(leg(values), numberOf(values, 'gainBandwidthHz')),
  describe: (values, program) => describeBell(bell, values, program),
  curve: (values) => bellCurve(bell, values),
});
