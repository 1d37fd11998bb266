/** What the bipolar stage says about itself at rest. */
import type { CircuitStageProgram, OutputNetwork, StageValues } from '../contract.ts';
import { analyse } from '../shared/analysis.ts';
import type { CircuitAnalysis } from '../shared/analysis.ts';
import { outputNetworkOf } from '../shared/single-ended-parts.ts';
import type { StageDescription } from '../shared/circuit-stage.ts';
import { describeSingleEnded } from '../shared/single-ended-report.ts';
import { electrodeOutputOhms, parallel } from '../shared/small-signal.ts';
import { stageThermalVolts } from '../shared/thermal-volts.ts';
import { numbersOf } from '../shared/values.ts';
import { circuit } from './circuit.ts';

/** Collector to emitter voltage at which saturation is taken to begin, V (common practice, no source). */
const saturationVolts = 0.2;

const collectorAmperes = (values: StageValues, analysis: CircuitAnalysis): number =>
  (numbersOf(values)('supplyVolts') - analysis.volts('collector')) / numbersOf(values)('collectorOhms');

export function outputNetwork(values: StageValues): OutputNetwork {
  const v = numbersOf(values);
  const analysis = analyse(circuit(values, null));
  const amperes = collectorAmperes(values, analysis);
  const collectorBase = analysis.volts('collector') - analysis.volts('base');
  const transconductance = amperes / stageThermalVolts;
  const ohms = electrodeOutputOhms(
    { transconductance, output: amperes / (v('earlyVolts') + collectorBase), input: transconductance / (v('forwardBeta') * (1 + collectorBase / v('earlyVolts'))) },
    {
      commonOhms: v('emitterOhms'),
      sourceOhms: parallel(v('padSeriesOhms'), v('padShuntOhms'), v('upperDividerOhms'), v('lowerDividerOhms')),
      electrodeOhms: v('collectorOhms'),
    },
  );
  return outputNetworkOf(values, ohms);
}

export function describe(values: StageValues, program: CircuitStageProgram): StageDescription {
  const v = numbersOf(values);
  const analysis = analyse(circuit(values, null));
  const amperes = collectorAmperes(values, analysis);
  const across = analysis.volts('collector') - analysis.volts('emitter');
  const load = parallel(v('collectorOhms'), v('loadOhms'));
  return describeSingleEnded(values, program, analysis, [
    { label: 'collector current', value: amperes, quantity: 'current', unit: 'A' },
    { label: 'collector to emitter', value: across, quantity: 'voltage', unit: 'V' },
  ], [
    { name: 'cut-off', peakVolts: amperes * load },
    // While the collector falls the emitter rises, by the same current in its unbypassed resistor.
    { name: 'saturation', peakVolts: Math.max(0, across - saturationVolts) / (1 + v('emitterOhms') / load) },
  ]);
}
