/** A microphone input: a pad that makes a microphone of line level, then a bipolar pair with an amplifier, or a step-up transformer with one. */
import type { CircuitDocument, Component } from '../../circuit/index.ts';
import { decibelsToRatio, ratioToDecibels } from '../../math/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import { formatValue } from '../shared/format-value.ts';
import { lineLevelDbu } from '../shared/levels.ts';
import { opAmpBlock, opAmpLimits } from '../shared/op-amp-block.ts';
import { sourceNetwork } from '../shared/source-network.ts';
import { stageTemperatureC, stageThermalVolts } from '../shared/thermal-volts.ts';
import { choiceOf, numbersOf } from '../shared/values.ts';

export const isTransformer = (values: StageValues): boolean => choiceOf(values, 'input') === 'transformer';

/** A of each transistor of the pair, generic, at 27 °C; V. */
const saturationAmperes = 1e-14;
const earlyVolts = 100;
/** Volts across each collector resistor at rest: they follow from the tail current. */
const collectorDropVolts = 5;

/** Programme at the microphone over programme at line level, a ratio below 1. */
export const padRatio = (values: StageValues): number => decibelsToRatio(numbersOf(values)('microphoneDbu') - lineLevelDbu);

/** The pad has the microphone's resistance and takes line level down to what a microphone gives. */
export function padOhms(values: StageValues): { readonly series: number; readonly shunt: number } {
  const ohms = numbersOf(values)('microphoneOhms');
  const ratio = padRatio(values);
  return { series: ohms / ratio, shunt: ohms / (1 - ratio) };
}

/** What the input's own resistance (electronic) or the transformer and its termination leave of, or make of, the microphone's voltage in the middle of the band, a ratio. */
export function inputRatio(values: StageValues): number {
  const v = numbersOf(values);
  if (!isTransformer(values)) return v('biasOhms') / (v('biasOhms') + v('microphoneOhms'));
  const steps = v('stepUp');
  const seen = steps * steps * (v('microphoneOhms') + v('primaryOhms')) + v('secondaryOhms');
  return (steps * v('terminationOhms')) / (v('terminationOhms') + seen);
}

/** Noise gain 1 + RF/RG that is left to the amplifier. */
export const amplifierRatio = (values: StageValues): number => decibelsToRatio(numbersOf(values)('gainDb')) / inputRatio(values);

/** The least an amplifier is asked for, a ratio: below it RG would be no resistor. */
const leastRatio = 1.1;

/** Level that line level may have behind the gain, dBu: twenty decibels over, and no more than any rail would hold. */
const mostDbu = 24;

/** Where the loop of pair, compensation and feedback crosses 1, Hz: 1/(2π CC (RE + kT/q/IC) · noise gain), both halves of the pair together. */
export function loopCrossingHz(values: StageValues): number {
  const v = numbersOf(values);
  return 1 / (2 * Math.PI * v('compensationFarads') * (v('emitterOhms') + (2 * stageThermalVolts) / v('tailAmperes')) * amplifierRatio(values));
}

/** Why the values cannot be used: a gain below what the transformer makes by itself, one far beyond every rail, or a pair too fast for its amplifier. */
export function refuse(values: StageValues): string | null {
  const v = numbersOf(values);
  const gain = formatValue(v('gainDb'), 'dB');
  if (!(amplifierRatio(values) >= leastRatio)) {
    const alone = ratioToDecibels(inputRatio(values));
    return `gainDb: expected at least ${formatValue(Number((alone + ratioToDecibels(leastRatio)).toFixed(1)), 'dB')}, since the transformer alone makes ${formatValue(Number(alone.toFixed(1)), 'dB')} of it, got ${gain}`;
  }
  const behind = v('microphoneDbu') + v('gainDb');
  if (behind > mostDbu) return `gainDb: expected at most ${formatValue(mostDbu - v('microphoneDbu'), 'dB')} for ${formatValue(v('microphoneDbu'), 'dBu')} at the microphone, so that line level stays below ${mostDbu} dBu, got ${gain}`;
  const crossing = loopCrossingHz(values);
  if (isTransformer(values) || crossing <= v('gainBandwidthHz')) return null;
  return `compensationFarads: expected at least ${formatValue((v('compensationFarads') * crossing) / v('gainBandwidthHz'), 'F')}, so that the loop of the pair crosses 1 below the gain-bandwidth of its amplifier, got ${formatValue(v('compensationFarads'), 'F')}`;
}

export const gainOhms = (values: StageValues): number => numbersOf(values)('feedbackOhms') / (amplifierRatio(values) - 1);

function electronic(values: StageValues): readonly Component[] {
  const v = numbersOf(values);
  const rail = v('railVolts');
  const transistor = (name: string, collector: string, base: string, emitter: string): Component => ({
    kind: 'bipolar', name, polarity: 'npn', collector, base, emitter, saturationAmperes, forwardBeta: v('forwardBeta'), reverseBeta: 1, earlyVolts, baseOhms: 0,
    emitterCapacitanceFarads: 0, collectorCapacitanceFarads: 0,
  });
  const collectorOhms = (2 * collectorDropVolts) / v('tailAmperes');
  return [
    { kind: 'capacitor', name: 'CIN', between: ['microphone', 'base'], farads: v('inputFarads') },
    { kind: 'resistor', name: 'RB', between: ['base', 'ground'], ohms: v('biasOhms') },
    transistor('Q1', 'collector-1', 'base', 'emitter-1'),
    transistor('Q2', 'collector-2', 'feedback', 'emitter-2'),
    { kind: 'resistor', name: 'RC1', between: ['supply', 'collector-1'], ohms: collectorOhms },
    { kind: 'resistor', name: 'RC2', between: ['supply', 'collector-2'], ohms: collectorOhms },
    { kind: 'resistor', name: 'RE1', between: ['emitter-1', 'tail'], ohms: v('emitterOhms') },
    { kind: 'resistor', name: 'RE2', between: ['emitter-2', 'tail'], ohms: v('emitterOhms') },
    { kind: 'current-source', name: 'IT', from: 'tail', to: 'low-supply', amperes: v('tailAmperes') },
    { kind: 'voltage-source', name: 'VCC', between: ['supply', 'ground'], volts: rail },
    { kind: 'voltage-source', name: 'VEE', between: ['low-supply', 'ground'], volts: -rail },
    ...opAmpBlock('U1', { plus: 'collector-2', minus: 'collector-1', out: 'amplifier' }, opAmpLimits(values)),
    { kind: 'capacitor', name: 'CC1', between: ['collector-1', 'amplifier'], farads: v('compensationFarads') },
    { kind: 'capacitor', name: 'CC2', between: ['collector-2', 'ground'], farads: v('compensationFarads') },
  ];
}

function transformer(values: StageValues): readonly Component[] {
  const v = numbersOf(values);
  return [
    { kind: 'resistor', name: 'RW', between: ['microphone', 'primary'], ohms: v('primaryOhms') },
    { kind: 'inductor', name: 'LM', between: ['primary', 'ground'], henries: v('primaryHenries') },
    { kind: 'inductor', name: 'LK', between: ['primary', 'turns'], henries: v('leakageHenries') },
    { kind: 'ideal-transformer', name: 'T1', primary: ['turns', 'ground'], secondary: ['winding', 'ground'], turnsRatio: 1 / v('stepUp') },
    { kind: 'resistor', name: 'RS', between: ['winding', 'secondary'], ohms: v('secondaryOhms') },
    { kind: 'capacitor', name: 'CS', between: ['secondary', 'ground'], farads: v('secondaryFarads') },
    { kind: 'resistor', name: 'RT', between: ['secondary', 'ground'], ohms: v('terminationOhms') },
    ...opAmpBlock('U1', { plus: 'secondary', minus: 'feedback', out: 'amplifier' }, opAmpLimits(values)),
  ];
}

export function circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const v = numbersOf(values);
  const before = sourceNetwork(source);
  const pad = padOhms(values);
  return {
    title: 'microphone input',
    temperatureC: stageTemperatureC,
    components: [
      ...before.components,
      { kind: 'resistor', name: 'RP1', between: [before.node, 'microphone'], ohms: pad.series },
      { kind: 'resistor', name: 'RP2', between: ['microphone', 'ground'], ohms: pad.shunt },
      ...(isTransformer(values) ? transformer(values) : electronic(values)),
      { kind: 'resistor', name: 'RF', between: ['amplifier', 'feedback'], ohms: v('feedbackOhms') },
      { kind: 'resistor', name: 'RG', between: ['feedback', 'foot'], ohms: gainOhms(values) },
      { kind: 'capacitor', name: 'CG', between: ['foot', 'ground'], farads: v('gainFarads') },
      { kind: 'resistor', name: 'RO', between: ['amplifier', 'out'], ohms: v('buildOutOhms') },
      { kind: 'resistor', name: 'RL', between: ['out', 'ground'], ohms: v('loadOhms') },
    ],
    output: ['out', 'ground'],
  };
}
