/** What stands round the transistors of an op-amp stage: input, feedback network, build-out and load. */
import type { Component } from '../../circuit/index.ts';
import type { StageValues } from '../contract.ts';
import type { Connection } from './op-amp-parameters.ts';
import { choiceOf, numbersOf } from './values.ts';

export const connectionOf = (values: StageValues): Connection => choiceOf(values, 'connection') as Connection;

/** 1 + RF/RG: what divides the amplifier's gain, whichever way the signal enters. */
export function noiseGain(values: StageValues): number {
  const v = numbersOf(values);
  return 1 + v('feedbackOhms') / v('gainOhms');
}

/** From the stage's input to its output by the network alone. */
export function signalGain(values: StageValues): number {
  return connectionOf(values) === 'inverting' ? 1 - noiseGain(values) : noiseGain(values);
}

/** Between `from`, where the signal comes from, and the nodes "plus" and "minus". */
export function inputParts(values: StageValues, from: string): readonly Component[] {
  const v = numbersOf(values);
  const inverting = connectionOf(values) === 'inverting';
  return [
    { kind: 'resistor', name: 'RS', between: [inverting ? 'ground' : from, 'plus'], ohms: v('sourceOhms') },
    { kind: 'resistor', name: 'RI', between: [inverting ? from : 'plus', 'ground'], ohms: v('terminationOhms') },
    { kind: 'resistor', name: 'RG', between: ['minus', inverting ? from : 'ground'], ohms: v('gainOhms') },
  ];
}

/** From the node "amplifier", where the loop closes, to "minus" and through the build-out to "out". */
export function outputParts(values: StageValues): readonly Component[] {
  const v = numbersOf(values);
  return [
    { kind: 'resistor', name: 'RF', between: ['amplifier', 'minus'], ohms: v('feedbackOhms') },
    { kind: 'resistor', name: 'RO', between: ['amplifier', 'out'], ohms: v('buildOutOhms') },
    { kind: 'resistor', name: 'RL', between: ['out', 'ground'], ohms: v('loadOhms') },
    { kind: 'capacitor', name: 'CL', between: ['out', 'ground'], farads: v('loadFarads') },
  ];
}

export function railParts(values: StageValues): readonly Component[] {
  const volts = numbersOf(values)('railVolts');
  return [
    { kind: 'voltage-source', name: 'VCC', between: ['rail-up', 'ground'], volts },
    { kind: 'voltage-source', name: 'VEE', between: ['rail-down', 'ground'], volts: -volts },
  ];
}

const limiterAmperes = 1e-14;

/**
 * A limiter between `a` and `b`: a diode and a source each way, so that v(a) − v(b) is held at `riseVolts` and at −`fallVolts`. `diodeVolts`: what a diode
 * drops at the current it is to take over.
 */
export function limiter(name: string, a: string, b: string, limits: { readonly riseVolts: number; readonly fallVolts: number; readonly diodeVolts: number }): readonly Component[] {
  const inner = (way: string): string => `${name} ${way}`;
  return [
    { kind: 'voltage-source', name: `${name} rise source`, between: [a, inner('rise')], volts: limits.riseVolts - limits.diodeVolts },
    { kind: 'diode', name: `${name} rise diode`, anode: inner('rise'), cathode: b, saturationAmperes: limiterAmperes, emissionCoefficient: 1 },
    { kind: 'voltage-source', name: `${name} fall source`, between: [b, inner('fall')], volts: limits.fallVolts - limits.diodeVolts },
    { kind: 'diode', name: `${name} fall diode`, anode: inner('fall'), cathode: a, saturationAmperes: limiterAmperes, emissionCoefficient: 1 },
  ];
}

/** Saturation current of the limiters' diodes, A. */
export const limiterSaturationAmperes = limiterAmperes;
