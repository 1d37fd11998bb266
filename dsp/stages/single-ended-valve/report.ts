/** What the valve stage says about itself at rest. */
import type { CircuitStageProgram, OutputNetwork, StageValues } from '../contract.ts';
import { analyse } from '../shared/analysis.ts';
import type { CircuitAnalysis } from '../shared/analysis.ts';
import { outputNetworkOf } from '../shared/single-ended-parts.ts';
import type { StageDescription } from '../shared/circuit-stage.ts';
import { describeSingleEnded } from '../shared/single-ended-report.ts';
import { electrodeOutputOhms, parallel } from '../shared/small-signal.ts';
import type { DeviceSlopes } from '../shared/small-signal.ts';
import { numbersOf } from '../shared/values.ts';
import { circuit } from './circuit.ts';

/** Slopes of the three-halves law: gm = 3/2 K √E, ra = µ/gm. */
function slopes(values: StageValues, analysis: CircuitAnalysis): DeviceSlopes {
  const v = numbersOf(values);
  const cathode = analysis.volts('cathode');
  const effective = analysis.volts('grid') - cathode + (analysis.volts('anode') - cathode) / v('mu');
  const transconductance = 1.5 * v('perveance') * Math.sqrt(Math.max(0, effective));
  return { transconductance, output: transconductance / v('mu'), input: 0 };
}

export function outputNetwork(values: StageValues): OutputNetwork {
  const v = numbersOf(values);
  const device = slopes(values, analyse(circuit(values, null)));
  return outputNetworkOf(values, electrodeOutputOhms(device, { commonOhms: v('cathodeOhms'), sourceOhms: 0, electrodeOhms: v('anodeOhms') }));
}

export function describe(values: StageValues, program: CircuitStageProgram): StageDescription {
  const v = numbersOf(values);
  const analysis = analyse(circuit(values, null));
  const amperes = (v('supplyVolts') - analysis.volts('anode')) / v('anodeOhms');
  const load = parallel(v('anodeOhms'), v('loadOhms'));
  const device = slopes(values, analysis);
  const bias = analysis.volts('cathode') - analysis.volts('grid');
  return describeSingleEnded(values, program, analysis, [
    { label: 'anode current', value: amperes, quantity: 'current', unit: 'A' },
    { label: 'anode to cathode', value: analysis.volts('anode') - analysis.volts('cathode'), quantity: 'voltage', unit: 'V' },
    { label: 'grid bias', value: -bias, quantity: 'voltage', unit: 'V' },
    { label: 'transconductance', value: device.transconductance * 1000, quantity: 'ratio', unit: 'mA/V' },
    { label: 'anode resistance', value: 1 / device.output, quantity: 'resistance', unit: 'Ω' },
  ], [
    { name: 'cut-off', peakVolts: amperes * load },
    // Grid to cathode reaches 0 V when the current has risen by bias · gm / (1 + (load + cathode)/ra), the anode having fallen meanwhile.
    {
      name: 'grid current',
      peakVolts: (Math.max(0, bias) * device.transconductance * load) / (1 + (load + v('cathodeOhms')) * device.output),
    },
  ]);
}
