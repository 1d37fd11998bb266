/**
 * A light operational amplifier of existing components: input pair (tanh), compensation capacitor clamped short of the rails, second pole, and an output
 * that gives no more than a limited current. For stages whose subject is the network round it; an amplifier of transistors is a stage of its own.
 *
 * In series: `pair` drives I tanh(v/V) into the compensation node, where `gain` gives the finite gain at low frequency and two diodes hold the node (so it does not
 * wind up); a buffer; `pole resistor` and `pole capacitor`; `output` drives Imax tanh((drive − out)/(Imax Ro)) into the output. Three ports of the solver.
 */
import type { Complex, Component } from '../../circuit/index.ts';
import { log } from '../../math/index.ts';
import type { LoopProbe, NumberParameter, StageRemark, StageValues } from '../contract.ts';
import { complex, divided, multiplied } from './complex.ts';
import { formatValue } from './format-value.ts';
import { current, frequency, voltage } from './parameters.ts';
import { stageThermalVolts } from './thermal-volts.ts';
import { numbersOf } from './values.ts';

export interface OpAmpNodes {
  readonly plus: string;
  readonly minus: string;
  readonly out: string;
}

export interface OpAmpLimits {
  readonly gainBandwidthHz: number;
  readonly outputLimitAmperes: number;
  readonly railVolts: number;
}

/** F. With the pair's current it makes the slew rate; any other pair of the same ratio would do. */
const compensationFarads = 30e-12;
/** Of the input pair, V: degenerated to three times an undegenerated pair's 2 kT/q. */
const pairVolts = 0.15;
/** Gain at low frequency, 100 dB. */
const openLoopRatio = 1e5;
/** Second pole over the gain-bandwidth: 76° of margin at a noise gain of 1. */
const secondPoleRatio = 4;
const poleOhms = 1000;
/** Resistance of the output before feedback, Ω. */
export const opAmpOutputOhms = 75;
/** What the output cannot reach of the rail, V (common practice, no source). */
const lostVolts = 1.5;
const clampSaturationAmperes = 1e-14;

const transconductance = (hz: number): number => 2 * Math.PI * hz * compensationFarads;

/** Largest output voltage, V: the clamp is exact when the pair is fully steered. */
export const opAmpSwingVolts = ({ railVolts }: Pick<OpAmpLimits, 'railVolts'>): number => railVolts - lostVolts;

/** V/s: the pair's whole current into the compensation, 2π · gain-bandwidth · pair voltage. */
export const opAmpSlewPerSecond = ({ gainBandwidthHz }: Pick<OpAmpLimits, 'gainBandwidthHz'>): number => 2 * Math.PI * gainBandwidthHz * pairVolts;

/** Frequency of the second pole, Hz. */
export const opAmpSecondPoleHz = ({ gainBandwidthHz }: Pick<OpAmpLimits, 'gainBandwidthHz'>): number => secondPoleRatio * gainBandwidthHz;

/** Node whose voltage less that of `out`, over `opAmpOutputOhms`, is the output current for small signals. */
export const opAmpDriveNode = (name: string): string => `${name} drive`;

/** Where the loop round the amplifier is looked at: everything it amplifies passes there, nothing else does. */
export const opAmpProbe = (name: string): LoopProbe => ({ component: `${name} pole resistor`, node: `${name} buffered` });

/** All parts have names that begin with `name` and a space. */
export function opAmpBlock(name: string, { plus, minus, out }: OpAmpNodes, limits: OpAmpLimits): readonly Component[] {
  const siemens = transconductance(limits.gainBandwidthHz);
  const pairAmperes = siemens * pairVolts;
  const clampVolts = opAmpSwingVolts(limits) - stageThermalVolts * log(pairAmperes / clampSaturationAmperes + 1);
  const node = (what: string): string => `${name} ${what}`;
  const diode = { kind: 'diode' as const, saturationAmperes: clampSaturationAmperes, emissionCoefficient: 1 };
  return [
    { kind: 'tanh-transconductor', name: node('pair'), out: [node('compensation'), 'ground'], in: [plus, minus], maxAmperes: pairAmperes, scaleVolts: pairVolts },
    { kind: 'resistor', name: node('gain'), between: [node('compensation'), 'ground'], ohms: openLoopRatio / siemens },
    { kind: 'capacitor', name: node('compensation'), between: [node('compensation'), 'ground'], farads: compensationFarads },
    { ...diode, name: node('upper clamp'), anode: node('compensation'), cathode: node('upper limit') },
    { ...diode, name: node('lower clamp'), anode: node('lower limit'), cathode: node('compensation') },
    { kind: 'voltage-source', name: node('upper limit'), between: [node('upper limit'), 'ground'], volts: clampVolts },
    { kind: 'voltage-source', name: node('lower limit'), between: [node('lower limit'), 'ground'], volts: -clampVolts },
    { kind: 'amplifier', name: node('buffer'), out: [node('buffered'), 'ground'], in: [node('compensation'), 'ground'], gain: 1 },
    { kind: 'resistor', name: node('pole resistor'), between: [node('buffered'), opAmpDriveNode(name)], ohms: poleOhms },
    {
      kind: 'capacitor', name: node('pole capacitor'), between: [opAmpDriveNode(name), 'ground'], farads: 1 / (2 * Math.PI * opAmpSecondPoleHz(limits) * poleOhms),
    },
    {
      kind: 'tanh-transconductor', name: node('output'), out: [out, 'ground'], in: [opAmpDriveNode(name), out],
      maxAmperes: limits.outputLimitAmperes, scaleVolts: limits.outputLimitAmperes * opAmpOutputOhms,
    },
  ];
}

export function opAmpLimits(values: StageValues): OpAmpLimits {
  const v = numbersOf(values);
  return { gainBandwidthHz: v('gainBandwidthHz'), outputLimitAmperes: v('outputLimitAmperes'), railVolts: v('railVolts') };
}

/** The three limits as parameters of a stage. */
export function opAmpParameters(defaults: OpAmpLimits = { gainBandwidthHz: 8e6, outputLimitAmperes: 30e-3, railVolts: 17 }): readonly NumberParameter[] {
  return [
    frequency({
      id: 'gainBandwidthHz', label: 'amplifier gain-bandwidth', shortLabel: 'bandwidth', range: [1e6, 2e7], default: defaults.gainBandwidthHz,
      help: 'Where the gain of each amplifier alone has fallen to 1: a low one bends the curve at high frequencies and lets distortion rise with frequency.',
    }),
    current({
      id: 'outputLimitAmperes', label: 'amplifier current limit', shortLabel: 'current lim', range: [5e-3, 0.2], default: defaults.outputLimitAmperes,
      help: 'What the output of each amplifier can deliver: low impedances in the network and a heavy load meet it before the rails.',
    }),
    voltage({
      id: 'railVolts', label: 'amplifier rails, plus and minus', shortLabel: 'rails', range: [5, 22], default: defaults.railVolts,
      help: 'The two supplies; each amplifier stops 1.5 V short of them, whichever of them gets there first.',
    }, 0.5),
  ];
}

/** Gain at a frequency with nothing fed back and no load: two poles. */
export function opAmpOpenLoop(limits: Pick<OpAmpLimits, 'gainBandwidthHz'>, hz: number): Complex {
  const pole = (cornerHz: number): Complex => complex(1, hz / cornerHz);
  return divided(complex(openLoopRatio), multiplied(pole(limits.gainBandwidthHz / openLoopRatio), pole(opAmpSecondPoleHz(limits))));
}

export const slewRemark = (limits: Pick<OpAmpLimits, 'gainBandwidthHz'>): StageRemark =>
  ({ label: 'slew rate', words: `${formatValue(opAmpSlewPerSecond(limits) / 1e6, 'V')}/µs at each amplifier` });
