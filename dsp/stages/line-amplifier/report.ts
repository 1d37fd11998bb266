/** What the line amplifier says about itself at rest. */
import { assembleCircuit, findOperatingPoint, loopGainOf, loopProbeName, outputImpedance, phaseMargin, withLoopProbe } from '../../circuit/index.ts';
import { ratioToDecibels } from '../../math/index.ts';
import type { CircuitStageProgram, LoopProbe, OutputNetwork, StageReading, StageValues } from '../contract.ts';
import { analyse } from '../shared/analysis.ts';
import type { StageDescription } from '../shared/circuit-stage.ts';
import { formatValue } from '../shared/format-value.ts';
import { dbuToPeakVolts, lineLevelDbu, peakVoltsToDbu } from '../shared/levels.ts';
import { numbersOf } from '../shared/values.ts';
import { circuit, primaryHenries } from './circuit.ts';

/** Collector to emitter voltage at which saturation is taken to begin, V (common practice, no source). */
const saturationVolts = 0.2;
const lowestHz = 20;

/** Resistance and inductance between the collector and the supply, feedback at work and the primary without a load. */
function collectorImpedance(values: StageValues): { readonly ohms: number; readonly henries: number } {
  const whole = circuit(values, null);
  const without = new Set(['LK', 'T1', 'RS', 'CL', 'RL', 'RZ', 'CZ']);
  const components = whole.components.filter(({ name }) => !without.has(name)).map((component) => (component.name === 'LM' ? { kind: 'inductor' as const, name: 'LM', between: ['core', 'collector-3'] as const, henries: 1e5 } : component));
  const system = assembleCircuit({ ...whole, components, output: ['collector-3', 'supply'] });
  const hz = 1000;
  const [z] = outputImpedance(system, findOperatingPoint(system), [hz]);
  return { ohms: z!.re, henries: Math.max(z!.im, 0) / (2 * Math.PI * hz) };
}

/** Collector with its feedback, winding, magnetising inductance beside them, leakage, secondary; load and line stand at the output. The Zobel network is far above what is asked of it here. */
export function outputNetwork(values: StageValues): OutputNetwork {
  const v = numbersOf(values);
  const { ohms, henries } = collectorImpedance(values);
  return {
    from: 'electromotive',
    to: 'out',
    components: [
      { kind: 'resistor', name: 'RO', between: ['electromotive', 'feedback'], ohms },
      ...(henries > 0 ? [{ kind: 'inductor' as const, name: 'LO', between: ['feedback', 'collector'] as const, henries }] : []),
      { kind: 'resistor', name: 'RP', between: [henries > 0 ? 'collector' : 'feedback', 'core'], ohms: v('primaryOhms') },
      { kind: 'inductor', name: 'LM', between: ['electromotive', 'core'], henries: primaryHenries(values) },
      { kind: 'inductor', name: 'LK', between: ['core', 'secondary'], henries: v('leakageHenries') },
      { kind: 'resistor', name: 'RS', between: ['secondary', 'out'], ohms: v('secondaryOhms') },
      { kind: 'capacitor', name: 'CL', between: ['electromotive', 'out'], farads: v('loadFarads') },
      { kind: 'resistor', name: 'RL', between: ['electromotive', 'out'], ohms: v('loadOhms') },
    ],
  };
}

/** Collector current of the output device: the primary's less the feedback resistor's. */
function outputAmperes(values: StageValues, volts: (node: string) => number): number {
  const v = numbersOf(values);
  return (v('supplyVolts') - volts('core')) / v('primaryOhms') - (volts('collector-3') - volts('base-1')) / v('feedbackOhms');
}

interface Limit {
  readonly name: string;
  /** At the load, V. */
  readonly peakVolts: number;
}

/** What the output device's current and voltage allow at mid frequencies. */
function limits(values: StageValues, amperes: number, acrossVolts: number): readonly Limit[] {
  const v = numbersOf(values);
  const load = v('loadOhms');
  const seen = load + v('primaryOhms') + v('secondaryOhms');
  return [
    { name: 'cut-off', peakVolts: amperes * load },
    // While the collector falls the emitter rises, by the same current.
    { name: 'saturation', peakVolts: (Math.max(0, acrossVolts - saturationVolts) * load) / (seen + v('emitterOhms')) },
  ];
}

export function describe(values: StageValues, program: CircuitStageProgram): StageDescription {
  const document = circuit(values, null);
  const analysis = analyse(document);
  const amperes = outputAmperes(values, analysis.volts);
  const across = analysis.volts('collector-3') - analysis.volts('emitter-3');
  const nearest = limits(values, amperes, across).reduce((least, limit) => (limit.peakVolts < least.peakVolts ? limit : least));
  const primary = primaryHenries(values);
  const readings: readonly StageReading[] = [
    { label: 'output current', value: amperes, quantity: 'current', unit: 'A', note: `in class A the load gets no more: ${formatValue(amperes, 'A')} peak` },
    { label: 'collector to emitter', value: across, quantity: 'voltage', unit: 'V', note: `${formatValue(amperes * across, 'W')} in the output device at rest` },
    {
      label: 'gain, small signal', value: analysis.gainDb(1000) + ratioToDecibels(program.inputGain * program.outputGain), quantity: 'gain', unit: 'dB', note: 'at 1 kHz, drive and make-up included',
    },
    ...(nearest.peakVolts > 0 ? [{
      label: 'headroom to rail', value: ratioToDecibels(nearest.peakVolts / dbuToPeakVolts(lineLevelDbu)), quantity: 'gain' as const, unit: 'dB',
      note: `above +4 dBu at the load, before make-up: +${Number(peakVoltsToDbu(nearest.peakVolts).toFixed(1))} dBu; ${nearest.name} comes first`,
    }] : []),
    ...loopReadings(values),
    { label: 'primary inductance', value: primary, quantity: 'inductance', unit: 'H', note: `core and gap; it takes ${formatValue(dbuToPeakVolts(lineLevelDbu) / (2 * Math.PI * lowestHz * primary), 'A')} peak at +4 dBu and ${lowestHz} Hz` },
    { label: 'input impedance', value: analysis.inputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz' },
    { label: 'output impedance', value: analysis.outputOhms(1000), quantity: 'resistance', unit: 'Ω', note: 'at 1 kHz, standing load included' },
  ];
  return { readings, remarks: [...(nearest.peakVolts > 0 ? [] : [{ label: 'headroom to rail', words: `none: ${nearest.name} at rest already` }]), { label: 'isolation', words: 'no wire joins load and amplifier' }] };
}

/** The feedback is all that passes through RF. */
export const loopProbe: LoopProbe = { component: 'RF', node: 'collector-3' };

/** Of the loop through the feedback resistor. */
function loopReadings(values: StageValues): readonly StageReading[] {
  const system = assembleCircuit(withLoopProbe(circuit(values, null), loopProbe.component, loopProbe.node));
  const gain = loopGainOf(system, findOperatingPoint(system), loopProbeName);
  const crossing = phaseMargin(gain, 1000, 1e8);
  const sizeDb = ({ re, im }: { readonly re: number; readonly im: number }): number => ratioToDecibels(Math.sqrt(re * re + im * im));
  return [
    ...([[1000, '1 kHz'], [20e3, '20 kHz']] as const).map(([hz, words]): StageReading => ({ label: `loop gain at ${words}`, value: sizeDb(gain(hz)), quantity: 'gain', unit: 'dB' })),
    ...(crossing === null ? [] : [{ label: 'loop crosses at', value: crossing.hz, quantity: 'frequency' as const, unit: 'Hz', note: `${Math.round(crossing.marginDegrees)}° of phase margin` }]),
  ];
}
