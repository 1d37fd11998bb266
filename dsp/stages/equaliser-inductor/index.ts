/**
 * Equaliser bell with an inductor: the pot of the bell circuit, its wiper on a series resonance of a capacitor and a real coil, with the resistance and capacitance of its winding
 * and its core. Low centres show the core, high ones the winding.
 */
import { refuseCentre } from '../shared/bell.ts';
import { bellCurve, bellOutputNetwork, describeBell } from '../shared/bell-report.ts';
import { circuitStage } from '../shared/circuit-stage.ts';
import { coreOfWinding, opAmpMechanisms } from '../shared/mechanisms.ts';
import { opAmpProbe } from '../shared/op-amp-block.ts';
import { numberOf } from '../shared/values.ts';
import { circuit, hasCore, leg } from './circuit.ts';
import { drawing, drawingFor } from './drawing.ts';
import { bell } from './report.ts';
import { parameters, relevant } from './table.ts';

export const equaliserInductor = circuitStage({
  id: 'equaliser-inductor',
  title: 'Equaliser bell, inductor',
  shortTitle: 'inductor',
  inverts: false,
  cautions: ['line-output'],
  parameters,
  relevant,
  drawing,
  drawingFor,
  circuit,
  outputNetwork: bellOutputNetwork,
  mechanisms: (values) => [...opAmpMechanisms(['U1']), ...(hasCore(values) ? [coreOfWinding('L')] : [])],
  loopProbe: () => opAmpProbe('U1'),
  refuse: (values) => refuseCentre(leg(values), numberOf(values, 'gainBandwidthHz')),
  describe: (values, program) => describeBell(bell, values, program),
  curve: (values) => bellCurve(bell, values),
});
