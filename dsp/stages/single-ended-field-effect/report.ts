/** What the field-effect stage says about itself at rest. */
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

/** Slopes of the square law: of the saturated channel, or of the ohmic one where the drain is below pinch-off. */
function slopes(values: StageValues, analysis: CircuitAnalysis): DeviceSlopes & { readonly overdriveVolts: number; readonly acrossVolts: number } {
  const v = numbersOf(values);
  const overdriveVolts = Math.max(0, analysis.volts('gate') - analysis.volts('source') - v('thresholdVolts'));
  const acrossVolts = analysis.volts('drain') - analysis.volts('source');
  const beta = v('betaAmperesPerVolt2');
  const lambda = v('lambdaPerVolt');
  const widening = 1 + lambda * acrossVolts;
  const ohmic = acrossVolts < overdriveVolts;
  const parabola = acrossVolts * (2 * overdriveVolts - acrossVolts);
  return {
    overdriveVolts,
    acrossVolts,
    transconductance: 2 * beta * (ohmic ? acrossVolts : overdriveVolts) * widening,
    output: ohmic ? beta * (2 * (overdriveVolts - acrossVolts) * widening + parabola * lambda) : beta * lambda * overdriveVolts * overdriveVolts,
    input: 0,
  };
}

export function outputNetwork(values: StageValues): OutputNetwork {
  const v = numbersOf(values);
  const device = slopes(values, analyse(circuit(values, null)));
  return outputNetworkOf(values, electrodeOutputOhms(device, { commonOhms: v('sourceOhms'), sourceOhms: 0, electrodeOhms: v('drainOhms') }));
}

export function describe(values: StageValues, program: CircuitStageProgram): StageDescription {
  const v = numbersOf(values);
  const analysis = analyse(circuit(values, null));
  const amperes = (v('supplyVolts') - analysis.volts('drain')) / v('drainOhms');
  const load = parallel(v('drainOhms'), v('loadOhms'));
  const device = slopes(values, analysis);
  return describeSingleEnded(values, program, analysis, [
    { label: 'drain current', value: amperes, quantity: 'current', unit: 'A' },
    { label: 'drain to source', value: device.acrossVolts, quantity: 'voltage', unit: 'V' },
    { label: 'above threshold', value: device.overdriveVolts, quantity: 'voltage', unit: 'V', note: 'gate to source less threshold' },
  ], [
    { name: 'cut-off', peakVolts: amperes * load },
    {
      // The drain falls, the source rises, and the overdrive grows with the current.
      name: 'the ohmic region',
      peakVolts: Math.max(0, device.acrossVolts - device.overdriveVolts) / (1 + v('sourceOhms') / load + 1 / (device.transconductance * load)),
    },
  ]);
}
