/**
 * The noise sources of a circuit at its operating point: every one a current between two nodes, independent of all others. Densities are one-sided, A²/Hz.
 * Sources of formulas: H. Nyquist 1928 (thermal); W. Schottky 1918 (shot); A. van der Ziel, "Noise: sources, characterization, measurement", 1970 (junctions, channels; from memory);
 * P. R. Gray, P. J. Hurst, S. H. Lewis, R. G. Meyer, "Analysis and Design of Analog Integrated Circuits", chapter 11 (small-signal models; from memory).
 *
 * Not modelled: excess noise of composition resistors under direct current, burst noise, microphony, induced gate noise, avalanche noise, and noise that changes while the signal swings.
 */
import { exp } from '../math/index.ts';
import type { CircuitDocument } from './components.ts';
import {
  boltzmannJoulesPerKelvin as boltzmann, elementaryCoulombs as charge, flickerCornerHz, saturatedChannelShare, standardKelvin, triodeEquivalentOhmsTimesTransconductance,
} from './noise-data.ts';
import type { OperatingPoint } from './operating-point.ts';
import { deviceKind } from './system.ts';
import type { CircuitSystem } from './system.ts';

export type NoiseMechanism =
  | 'thermal' | 'base-resistance thermal' | 'diode shot' | 'collector shot' | 'base shot' | 'channel' | 'gate shot' | 'anode, reduced shot' | 'grid shot' | 'input pair';

/** What a person reads of a mechanism. */
export const mechanismWords: Readonly<Record<NoiseMechanism, string>> = {
  thermal: 'thermal noise', 'base-resistance thermal': 'thermal noise of its base resistance', 'diode shot': 'shot noise', 'collector shot': 'shot noise of the collector current',
  'base shot': 'shot and 1/f noise of the base current', channel: 'thermal and 1/f noise of the channel', 'gate shot': 'shot noise of the gate current',
  'anode, reduced shot': 'reduced shot and 1/f noise of the anode current', 'grid shot': 'shot noise of the grid current', 'input pair': 'noise of the input pair',
};

/** A noise current that leaves row `from` and enters row `to` (−1: ground); `white` (1 + cornerHz / f) A²/Hz. */
export interface NoiseSource {
  readonly component: string;
  readonly mechanism: NoiseMechanism;
  readonly from: number;
  readonly to: number;
  readonly white: number;
  readonly cornerHz: number;
}

/** All sources of `document`, which `system` was assembled from; resistors, base resistances and channels at `temperatureK`. Sources of no strength are left out. */
export function noiseSources(document: CircuitDocument, system: CircuitSystem, point: OperatingPoint, temperatureK: number): NoiseSource[] {
  const rowOf = (node: string): number => system.nodeNames.indexOf(node);
  const thermal = (ohms: number): number => (4 * boltzmann * temperatureK) / ohms;
  const linear = document.components.flatMap((component): NoiseSource[] => {
    if (component.kind === 'resistor') {
      const [a, b] = component.between;
      return [{ component: component.name, mechanism: 'thermal', from: rowOf(a), to: rowOf(b), white: thermal(component.ohms), cornerHz: 0 }];
    }
    if (component.kind !== 'bipolar' || !(component.baseOhms > 0)) return [];
    return [{
      component: component.name, mechanism: 'base-resistance thermal', from: rowOf(component.base), to: rowOf(`${component.name} inner base`), white: thermal(component.baseOhms), cornerHz: 0,
    }];
  });
  const devices = Array.from({ length: system.devices.count }, (_, d) => deviceSources(system, point, d, temperatureK)).flat();
  return [...linear, ...devices].filter(({ white, from, to }) => white > 0 && from !== to);
}

function deviceSources(system: CircuitSystem, point: OperatingPoint, d: number, temperatureK: number): NoiseSource[] {
  const { devices, currentRows } = system;
  const component = devices.names[d]!;
  const firstCurrent = devices.currentOffsets[d]!;
  const currents = devices.currentOffsets[d + 1]! - firstCurrent;
  const amperes = (k: number): number => point.currents[firstCurrent + k]!;
  const volts = (k: number): number => point.controls[devices.controlOffsets[d]! + k]!;
  const parameter = (k: number): number => devices.parameters[devices.parameterOffsets[d]! + k]!;
  const fromRow = (k: number): number => currentRows[2 * (firstCurrent + k)]!;
  const toRow = (k: number): number => currentRows[2 * (firstCurrent + k) + 1]!;
  /** Between the two nodes that current k flows between. */
  const along = (k: number, mechanism: NoiseMechanism, white: number, cornerHz: number): NoiseSource =>
    ({ component, mechanism, from: fromRow(k), to: toRow(k), white, cornerHz });
  switch (devices.kinds[d]) {
    case deviceKind.diode:
      return [along(0, 'diode shot', junctionShot(amperes(0), parameter(0)), flickerCornerHz.diode)];
    case deviceKind.bipolar: {
      const forwardLeak = parameter(2);
      const reverseLeak = parameter(3);
      const base = forwardLeak * (exp(volts(0) * parameter(1)) - 1);
      const reverse = reverseLeak * (exp(volts(1) * parameter(1)) - 1);
      // What crosses from collector to emitter: the base–emitter port carries it and the base current.
      const transport = amperes(0) - base;
      return [
        { component, mechanism: 'collector shot', from: toRow(1), to: toRow(0), white: 2 * charge * Math.abs(transport), cornerHz: 0 },
        along(0, 'base shot', junctionShot(base, forwardLeak), flickerCornerHz.bipolarBase),
        along(1, 'base shot', junctionShot(reverse, reverseLeak), flickerCornerHz.bipolarBase),
      ];
    }
    case deviceKind.forwardBipolar: {
      const forwardLeak = parameter(2);
      const base = forwardLeak * (exp(volts(0) * parameter(1)) - 1);
      return [
        { component, mechanism: 'collector shot', from: toRow(1), to: toRow(0), white: 2 * charge * Math.abs(amperes(1)), cornerHz: 0 },
        along(0, 'base shot', junctionShot(base, forwardLeak), flickerCornerHz.bipolarBase),
      ];
    }
    case deviceKind.forwardFieldEffect:
      return [along(0, 'channel', channelNoise(volts(0) - parameter(0), Math.min(0, volts(1) - parameter(0)), parameter(1), parameter(2), temperatureK), flickerCornerHz.insulatedGate)];
    case deviceKind.fieldEffect: {
      const gate = currents === 3;
      const corner = gate ? flickerCornerHz.junctionGate : flickerCornerHz.insulatedGate;
      return [
        along(0, 'channel', channelNoise(volts(0) - parameter(0), volts(1) - parameter(0), parameter(1), parameter(2), temperatureK), corner),
        ...(gate ? [1, 2].map((k) => along(k, 'gate shot', junctionShot(amperes(k), parameter(3)), 0)) : []),
      ];
    }
    case deviceKind.triode: {
      // Of the anode's current, the slope by the grid.
      const transconductance = point.jacobian[devices.jacobianOffsets[d]!]!;
      const reduced = 4 * boltzmann * standardKelvin * triodeEquivalentOhmsTimesTransconductance * transconductance;
      // Space charge takes noise away and adds none: near cut-off full shot noise is the most there is.
      const anode = Math.min(reduced, 2 * charge * amperes(0));
      return [
        along(0, 'anode, reduced shot', anode, flickerCornerHz.triode),
        ...(currents === 2 ? [along(1, 'grid shot', 2 * charge * Math.abs(amperes(1)), 0)] : []),
      ];
    }
    case deviceKind.tanhTransconductor:
      return [along(0, 'input pair', pairNoise(parameter(0), 1 / parameter(1), amperes(0), system.thermalVolts, temperatureK), flickerCornerHz.tanhPair)];
    default:
      return [];
  }
}

/** Both currents of a junction have shot noise, what flows forward and the leak back: 2q (i + 2 IS). Without bias this is the thermal noise of its slope. */
function junctionShot(amperes: number, saturationAmperes: number): number {
  return 2 * charge * Math.max(0, amperes + 2 * saturationAmperes);
}

/**
 * Thermal noise of a long channel, 4kT g0 γ: g0 = 2β vov (1 + λ vDS), γ = ⅔ (1 + η + η²)/(1 + η), η = 1 − vDS/vov down to 0 in saturation (van der Ziel 1962; Y. Tsividis, "Operation
 * and Modeling of the MOS Transistor", from memory): ⅔ of gm saturated, the whole slope of the channel at vDS = 0.
 */
function channelNoise(sourceOverdrive: number, drainOverdrive: number, beta: number, lambda: number, temperatureK: number): number {
  const overdrive = Math.max(sourceOverdrive, drainOverdrive);
  if (!(overdrive > 0)) return 0;
  const across = Math.abs(sourceOverdrive - drainOverdrive);
  const left = Math.max(0, 1 - across / overdrive);
  const share = (saturatedChannelShare * (1 + left + left * left)) / (1 + left);
  return 4 * boltzmann * temperatureK * 2 * beta * overdrive * (1 + lambda * across) * share;
}

/**
 * A bipolar pair on a fixed tail current I, its output I tanh(v/Vs) the difference of the two collectors. Each collector's shot noise passes in the share that the other's slope leaves it;
 * what Vs has beyond 2 kT/q is taken as emitter resistors (Vs − 2 kT/q)/I with their thermal noise. Balanced and without resistors: 2qI. Small-signal analysis of the pair
 * (Gray, Hurst, Lewis, Meyer, from memory).
 */
function pairNoise(maxAmperes: number, scaleVolts: number, amperes: number, thermalVolts: number, temperatureK: number): number {
  const steering = amperes / maxAmperes;
  const open = Math.max(0, 1 - steering * steering);
  const junctionShare = Math.min(1, (2 * thermalVolts) / scaleVolts);
  const emitterOhms = Math.max(0, scaleVolts - 2 * thermalVolts) / maxAmperes;
  const slope = maxAmperes / scaleVolts;
  return open * (2 * charge * maxAmperes * junctionShare * junctionShare + 8 * boltzmann * temperatureK * emitterOhms * slope * slope);
}
