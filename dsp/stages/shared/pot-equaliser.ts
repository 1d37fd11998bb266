/**
 * An equaliser round one amplifier: equal resistors RA before its + input and RB from its output to its − input, and pots between the two inputs. Each wiper feeds a leg to earth. In the
 * middle of a pot its leg draws as much from either input and nothing changes; towards the − input it takes feedback away and lifts, towards the + input it takes signal away and cuts.
 *
 * With a perfect amplifier, for each leg: Ra from the + input to the wiper, Rb from there to the − input, Z the leg's impedance behind them, Z' = Z + Ra‖Rb, x = Ra/(Ra + Rb):
 * H = (1 + R Σ x/Z') / (1 + R Σ (1 − x)/Z').  (Node equations by hand: both inputs at one voltage V, Vin = V + R i (1 − x), Vout = V + R i x, V = Z' i.)
 */
import type { Complex, Component } from '../../circuit/index.ts';
import type { NumberParameter, OutputNetwork, StageValues } from '../contract.ts';
import { added, complex, divided, scaled } from './complex.ts';
import { opAmpBlock, opAmpLimits, opAmpOutputOhms } from './op-amp-block.ts';
import { ratio, resistance } from './parameters.ts';
import { numbersOf } from './values.ts';

/** What is left of a pot's resistance at the end of its travel, a share of the whole (common practice, no source). */
const endShare = 1e-3;

/** Ra and Rb of a pot: `position` 0 at the + input, 1 at the − input. */
export function potHalves(ohms: number, position: number): readonly [toPlus: number, toMinus: number] {
  const x = endShare + (1 - 2 * endShare) * position;
  return [ohms * x, ohms * (1 - x)];
}

/** A leg as the formula sees it. */
export interface PotLeg {
  readonly toPlusOhms: number;
  readonly toMinusOhms: number;
  /** From the wiper to earth. */
  readonly impedance: (hz: number) => Complex;
}

/** Output volts per input volt with a perfect amplifier. */
export function idealPotResponse(ohms: number, legs: readonly PotLeg[], hz: number): Complex {
  let lift = complex(1);
  let cut = complex(1);
  for (const { toPlusOhms, toMinusOhms, impedance } of legs) {
    const sum = toPlusOhms + toMinusOhms;
    const current = divided(complex(ohms), added(impedance(hz), complex((toPlusOhms * toMinusOhms) / sum)));
    lift = added(lift, scaled(current, toPlusOhms / sum));
    cut = added(cut, scaled(current, toMinusOhms / sum));
  }
  return divided(lift, cut);
}

/** RA, amplifier U1, RB, build-out RO and load RL; nodes "plus", "minus", "amplifier", "out". */
export function potEqualiserParts(values: StageValues, before: string): readonly Component[] {
  const v = numbersOf(values);
  return [
    { kind: 'resistor', name: 'RA', between: [before, 'plus'], ohms: v('armOhms') },
    ...opAmpBlock('U1', { plus: 'plus', minus: 'minus', out: 'amplifier' }, opAmpLimits(values)),
    { kind: 'resistor', name: 'RB', between: ['amplifier', 'minus'], ohms: v('armOhms') },
    { kind: 'resistor', name: 'RO', between: ['amplifier', 'out'], ohms: v('buildOutOhms') },
    { kind: 'resistor', name: 'RL', between: ['out', 'ground'], ohms: v('loadOhms') },
  ];
}

/** The two halves of a pot, named `name`A and `name`B. */
export function potParts(name: string, ohms: number, position: number, wiper: string): readonly Component[] {
  const [toPlus, toMinus] = potHalves(ohms, position);
  return [
    { kind: 'resistor', name: `${name}A`, between: ['plus', wiper], ohms: toPlus },
    { kind: 'resistor', name: `${name}B`, between: [wiper, 'minus'], ohms: toMinus },
  ];
}

/** Share of the amplifier's voltage that the build-out leaves at the load. */
export const outputDivision = (values: StageValues): number => numbersOf(values)('loadOhms') / (numbersOf(values)('loadOhms') + numbersOf(values)('buildOutOhms'));

/**
 * Build-out behind an amplifier under feedback, with the load: the amplifier's own output divided by its loop gain is an inductance, Ro over 2π · gain-bandwidth / noise gain, and never more than Ro.
 */
export function opAmpOutputNetwork(values: StageValues, noiseGain: number): OutputNetwork {
  const v = numbersOf(values);
  return {
    from: 'electromotive',
    to: 'out',
    components: [
      { kind: 'inductor', name: 'LU', between: ['electromotive', 'amplifier'], henries: (opAmpOutputOhms * noiseGain) / (2 * Math.PI * v('gainBandwidthHz')) },
      { kind: 'resistor', name: 'RU', between: ['electromotive', 'amplifier'], ohms: opAmpOutputOhms },
      { kind: 'resistor', name: 'RO', between: ['amplifier', 'out'], ohms: v('buildOutOhms') },
      { kind: 'resistor', name: 'RL', between: ['electromotive', 'out'], ohms: v('loadOhms') },
    ],
  };
}

/** Noise gain of the amplifier where the legs draw nothing: the whole way from output to source over what lies between the inputs. */
export const potNoiseGain = (armOhms: number, betweenInputsOhms: number): number => (2 * armOhms + betweenInputsOhms) / betweenInputsOhms;

export const armParameter = (ohms: number): NumberParameter => resistance({
  id: 'armOhms', designator: 'RA', spoken: 'R A', label: 'arms, both', shortLabel: 'arms', range: [1e3, 22e3], default: ohms,
  help: 'RA before the amplifier and RB round it, always equal: a larger value beside the leg makes a larger amount.',
});

export const positionParameter = (id: string, label: string, shortLabel: string, position: number): NumberParameter => ratio({
  id, label, shortLabel, range: [0, 1], default: position,
  help: 'Travel of the pot: 0 is the deepest cut, 0.5 leaves the curve flat, 1 is the largest lift.',
}, 0.01, 'linear');

export const outputParameters = (): readonly NumberParameter[] => [
  resistance({
    id: 'buildOutOhms', designator: 'RO', spoken: 'R O', label: 'build-out', shortLabel: 'build-out', range: [10, 1e3], default: 47,
    help: 'Keeps the capacitance of a cable away from the amplifier; takes a little level where the load is heavy.',
  }),
  resistance({
    id: 'loadOhms', designator: 'RL', spoken: 'R L', label: 'load', shortLabel: 'load', range: [300, 1e6], default: 10e3,
    help: 'The standing load at the output; a heavy one asks the amplifier for current.',
  }),
];
