/** An operational amplifier as it is integrated: undegenerated pair and ideal mirror, a real second stage, complementary followers with a current limit. */
import type { CircuitDocument, Component } from '../../circuit/index.ts';
import { log } from '../../math/index.ts';
import type { OutputNetwork, StageValues } from '../contract.ts';
import { formatValue } from '../shared/format-value.ts';
import { inputParts, limiter, limiterSaturationAmperes, outputParts, railParts } from '../shared/op-amp-parts.ts';
import { sourceNetwork } from '../shared/source-network.ts';
import { stageTemperatureC, stageThermalVolts } from '../shared/thermal-volts.ts';
import { numbersOf } from '../shared/values.ts';

/** Followers, generic: A at 27 °C, V, Ω. */
const follower = { saturationAmperes: 1e-15, forwardBeta: 120, earlyVolts: 100 };
/**
 * Resistance of each follower's base, Ω. It drops IE/(β + 1) of it, as this part of it would in the emitter, and there it is put: the same voltage but for
 * the Early effect on β, and one unknown less for the solver.
 */
const followerBaseOhms = 100;
/**
 * The second stage: two transistors in cascade, counted as one of their joint current gain. This gain, its Early voltage and the load of the followers
 * make 100 dB at low frequencies.
 */
const second = { saturationAmperes: 1e-14, forwardBeta: 2000, earlyVolts: 60 };
const secondEmitterFarads = 10e-12;
const secondEmitterOhms = 100;
/** The most the second stage is made to draw, over the current of the source above it: what the output's current limit then has to divert. */
const secondLimitRatio = 10;
/** Across the inputs, F. */
const inputFarads = 5e-12;
/** Any value: it turns the pair's current into the voltage that degeneration drops. */
const footOhms = 1000;

const junctionVolts = (amperes: number, saturationAmperes: number): number => stageThermalVolts * log(amperes / saturationAmperes);
const diodeVolts = (amperes: number): number => junctionVolts(amperes, limiterSaturationAmperes);
/** Emitter resistor and what the base resistance adds to it, Ω. */
const emitterOhms = (values: StageValues): number => numbersOf(values)('emitterOhms') + followerBaseOhms / (follower.forwardBeta + 1);

/** Of each follower at a current with its collector at the rail and its emitter at 0 V, base to output, V. */
function followerVolts(values: StageValues, amperes: number): number {
  const early = 1 + numbersOf(values)('railVolts') / follower.earlyVolts;
  return junctionVolts(amperes, follower.saturationAmperes * early) + amperes * emitterOhms(values) * (1 + 1 / follower.forwardBeta);
}

/**
 * The pair: tail current I, VT and degeneration RE give i = I tanh((v − RE i)/(2 VT)) exactly, a mirror of gain 1 included (Gray, Hurst, Lewis, Meyer,
 * chapter 3, from memory). i runs through a foot resistor, whose voltage, scaled, is taken off the input.
 */
function inputPair(values: StageValues): readonly Component[] {
  const v = numbersOf(values);
  return [
    { kind: 'tanh-transconductor', name: 'G1 pair', out: ['G1 foot', 'gain'], in: ['plus', 'G1 drop'], maxAmperes: v('tailAmperes'), scaleVolts: 2 * stageThermalVolts },
    { kind: 'resistor', name: 'G1 foot', between: ['G1 foot', 'ground'], ohms: footOhms },
    { kind: 'amplifier', name: 'G1 drop', out: ['G1 drop', 'minus'], in: ['G1 foot', 'ground'], gain: v('degenerationOhms') / footOhms },
    { kind: 'capacitor', name: 'G1 input', between: ['plus', 'minus'], farads: inputFarads },
  ];
}

/** What the second stage's base can do above its emitter supply: up to where it draws its most, and a diode's drop below 0. */
function baseLimits(values: StageValues): { readonly riseVolts: number; readonly fallVolts: number; readonly diodeVolts: number } {
  const most = secondLimitRatio * numbersOf(values)('secondStageAmperes');
  const drop = diodeVolts(numbersOf(values)('tailAmperes'));
  return { riseVolts: junctionVolts(most, second.saturationAmperes) + most * secondEmitterOhms, fallVolts: drop, diodeVolts: drop };
}

function transistor(name: string, polarity: 'npn' | 'pnp', [collector, base, emitter]: readonly [string, string, string], type: typeof follower, emitterFarads = 0): Component {
  return { kind: 'bipolar', name, polarity, collector, base, emitter, ...type, reverseBeta: 1, baseOhms: 0, emitterCapacitanceFarads: emitterFarads, collectorCapacitanceFarads: 0 };
}

export function circuit(values: StageValues, source: OutputNetwork | null): CircuitDocument {
  const v = numbersOf(values);
  const before = sourceNetwork(source);
  const sourceAmperes = v('secondStageAmperes');
  const halfSpread = followerVolts(values, v('quiescentAmperes'));
  const limitVolts = followerVolts(values, v('limitAmperes')) - halfSpread;
  const diode = diodeVolts(sourceAmperes);
  return {
    title: 'op-amp stage, integrated kind',
    temperatureC: stageTemperatureC,
    components: [
      ...before.components,
      ...inputParts(values, before.node),
      ...inputPair(values),
      ...limiter('L2', 'gain', 'rail-down', baseLimits(values)),
      transistor('Q1', 'npn', ['drive', 'gain', 'emitter'], second, secondEmitterFarads),
      { kind: 'resistor', name: 'R1', between: ['emitter', 'rail-down'], ohms: secondEmitterOhms },
      { kind: 'capacitor', name: 'CC', between: ['drive', 'gain'], farads: v('compensationFarads') },
      { kind: 'current-source', name: 'IS', from: 'rail-up', to: 'drive', amperes: sourceAmperes },
      ...limiter('L1', 'drive', 'ground', { riseVolts: v('clampVolts'), fallVolts: v('clampVolts'), diodeVolts: diode }),
      ...limiter('L3', 'drive', 'amplifier', { riseVolts: limitVolts, fallVolts: limitVolts, diodeVolts: diode }),
      { kind: 'voltage-source', name: 'VB1', between: ['base-up', 'drive'], volts: halfSpread },
      { kind: 'voltage-source', name: 'VB2', between: ['drive', 'base-down'], volts: halfSpread },
      transistor('Q2', 'npn', ['rail-up', 'base-up', 'emitter-up'], follower),
      transistor('Q3', 'pnp', ['rail-down', 'base-down', 'emitter-down'], follower),
      { kind: 'resistor', name: 'RE1', between: ['emitter-up', 'amplifier'], ohms: emitterOhms(values) },
      { kind: 'resistor', name: 'RE2', between: ['amplifier', 'emitter-down'], ohms: emitterOhms(values) },
      ...outputParts(values),
      ...railParts(values),
    ],
    output: ['out', 'ground'],
  };
}

/** Room that the followers and the second stage need between the swing and the rail, V. */
const leastRoomVolts = 1.2;

/** A swing that the rails have no room for. */
export function refuseSwing(values: StageValues): string | null {
  const v = numbersOf(values);
  const least = v('clampVolts') + leastRoomVolts;
  if (v('railVolts') >= least) return null;
  return `railVolts: expected at least ${formatValue(least, 'V')}, since a swing of ${formatValue(v('clampVolts'), 'V')} leaves the second stage no room below it, got ${formatValue(v('railVolts'), 'V')}`;
}
