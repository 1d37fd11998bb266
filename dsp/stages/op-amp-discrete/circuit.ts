/** An operational amplifier of single transistors: degenerated pair and mirror, a real second stage, a follower over a sink or a complementary pair. */
import type { CircuitDocument, Component } from '../../circuit/index.ts';
import { log } from '../../math/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import { connectionOf, inputParts, limiter, limiterSaturationAmperes, outputParts, railParts } from '../shared/op-amp-parts.ts';
import { sourceNetwork } from '../shared/source-network.ts';
import { stageTemperatureC, stageThermalVolts } from '../shared/thermal-volts.ts';
import { choiceOf, numbersOf } from '../shared/values.ts';

/** A generic small-signal transistor, A at 27 °C, V, F; and the larger one of the output. */
const small = { saturationAmperes: 1e-14, forwardBeta: 300, earlyVolts: 100 };
const second = { saturationAmperes: 1e-14, forwardBeta: 200, earlyVolts: 60 };
const output = { saturationAmperes: 1e-13, forwardBeta: 120, earlyVolts: 100 };
const emitterFarads = 10e-12;
/** Across base and collector; that of the second stage adds to the compensation. */
export const collectorFarads = 4e-12;
const mirrorOhms = 100;
const secondEmitterOhms = 10;
/** Keeps the follower's input capacitance from ringing with the second stage. */
const driveOhms = 22;
/** Current gain of the output. */
export const outputBeta = output.forwardBeta;

const limitingSaturationAmperes = 1e-14;
/** What the second stage's sink needs to stay one, V above the lower rail (common practice, no source). */
const sinkVolts = 1;
/** Voltage of the source behind the diode that takes over where the sink has no room left. */
function sinkLimitVolts(values: StageValues): number {
  const v = numbersOf(values);
  return sinkVolts - v('railVolts') + stageThermalVolts * log(v('secondStageAmperes') / limitingSaturationAmperes);
}

export type OutputKind = 'class-a' | 'complementary';
export const outputKindOf = (values: StageValues): OutputKind => choiceOf(values, 'outputKind') as OutputKind;

function transistor(
  name: string, polarity: 'npn' | 'pnp', [collector, base, emitter]: readonly [string, string, string], type: typeof small, collectorCapacitanceFarads = collectorFarads,
): Component {
  return {
    kind: 'bipolar', name, polarity, collector, base, emitter, ...type, reverseBeta: 1, baseOhms: 0, emitterCapacitanceFarads: emitterFarads, collectorCapacitanceFarads,
  };
}

/** Of each half of the complementary output, V: the drop of its junction and emitter resistor at the idle current. */
function halfSpreadVolts(values: StageValues): number {
  const v = numbersOf(values);
  const idle = v('idleAmperes');
  const early = 1 + v('railVolts') / output.earlyVolts;
  return stageThermalVolts * log(idle / (output.saturationAmperes * early)) + idle * v('emitterOhms') * (1 + 1 / output.forwardBeta);
}

/** From "drive", behind RB, to "amplifier". */
function outputStage(values: StageValues): readonly Component[] {
  const v = numbersOf(values);
  if (outputKindOf(values) === 'class-a') {
    return [
      transistor('Q6', 'npn', ['rail-up', 'drive', 'amplifier'], output),
      { kind: 'current-source', name: 'IO', from: 'amplifier', to: 'rail-down', amperes: v('idleAmperes') },
    ];
  }
  const volts = halfSpreadVolts(values);
  const ohms = v('emitterOhms');
  return [
    { kind: 'voltage-source', name: 'VB1', between: ['bias-up', 'drive'], volts },
    { kind: 'voltage-source', name: 'VB2', between: ['drive', 'bias-down'], volts },
    // Both bases move as one against rails that stand still: the two capacitances are one, of twice the size.
    transistor('Q6', 'npn', ['rail-up', 'bias-up', 'emitter-up'], output, 2 * collectorFarads),
    transistor('Q7', 'pnp', ['rail-down', 'bias-down', 'emitter-down'], output, 0),
    { kind: 'resistor', name: 'RE6', between: ['emitter-up', 'amplifier'], ohms },
    { kind: 'resistor', name: 'RE7', between: ['amplifier', 'emitter-down'], ohms },
  ];
}

/** Beyond what steers the whole tail, V: the input diodes' room. */
const inputRoomVolts = 0.6;

/**
 * Diodes at the inverting input, where the signal comes through RG: overdriven by tens of volts, this input would be pulled past the rails, which turns the
 * pair's transistors inside out and can hold the output at the wrong rail.
 */
function inputLimiter(values: StageValues): readonly Component[] {
  if (connectionOf(values) !== 'inverting') return [];
  const v = numbersOf(values);
  const volts = v('tailAmperes') * v('degenerationOhms') + inputRoomVolts;
  const diodeVolts = stageThermalVolts * log(v('tailAmperes') / limiterSaturationAmperes);
  return limiter('L1', 'minus', 'ground', { riseVolts: volts, fallVolts: volts, diodeVolts });
}

export function circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const v = numbersOf(values);
  const before = sourceNetwork(source);
  const degeneration = v('degenerationOhms');
  return {
    title: 'op-amp stage, discrete',
    temperatureC: stageTemperatureC,
    components: [
      ...before.components,
      ...inputParts(values, before.node),
      ...inputLimiter(values),
      transistor('Q1', 'npn', ['mirror', 'minus', 'emitter-minus'], small),
      transistor('Q2', 'npn', ['gain', 'plus', 'emitter-plus'], small),
      { kind: 'resistor', name: 'RE1', between: ['emitter-minus', 'tail'], ohms: degeneration },
      { kind: 'resistor', name: 'RE2', between: ['emitter-plus', 'tail'], ohms: degeneration },
      { kind: 'current-source', name: 'IT', from: 'tail', to: 'rail-down', amperes: v('tailAmperes') },
      // Base and collector are one node: no capacitance between them.
      transistor('Q3', 'pnp', ['mirror', 'mirror', 'mirror-in'], small, 0),
      transistor('Q4', 'pnp', ['gain', 'mirror', 'mirror-out'], small),
      { kind: 'resistor', name: 'RM1', between: ['rail-up', 'mirror-in'], ohms: mirrorOhms },
      { kind: 'resistor', name: 'RM2', between: ['rail-up', 'mirror-out'], ohms: mirrorOhms },
      transistor('Q5', 'pnp', ['second', 'gain', 'emitter-second'], second),
      { kind: 'resistor', name: 'R5', between: ['rail-up', 'emitter-second'], ohms: secondEmitterOhms },
      { kind: 'current-source', name: 'IS', from: 'second', to: 'rail-down', amperes: v('secondStageAmperes') },
      { kind: 'diode', name: 'D1', anode: 'sink-limit', cathode: 'second', saturationAmperes: limitingSaturationAmperes, emissionCoefficient: 1 },
      { kind: 'voltage-source', name: 'VL', between: ['sink-limit', 'ground'], volts: sinkLimitVolts(values) },
      { kind: 'capacitor', name: 'CC', between: ['second', 'gain'], farads: v('compensationFarads') },
      { kind: 'resistor', name: 'RB', between: ['second', 'drive'], ohms: driveOhms },
      ...outputStage(values),
      ...outputParts(values),
      ...railParts(values),
    ],
    output: ['out', 'ground'],
  };
}
