/**
 * The supply that all stages share. For each rail voltage: a full-wave rectifier charges a reservoir, a regulator takes `regulationDb` off what is left on it, and regulator and wiring have
 * `supplyOhms`. Ripple, sag and coupling follow from the sum of what all running stages draw at rest.
 *
 * Capacitor-input rectifier at light load (O. H. Schade, "Analysis of rectifier operation", 1943, in its limit of short charges; common practice): between two charges the current I takes I/(f C)
 * volts peak to peak, the mean lies half of that below the peak, and for slow changes the reservoir is a source of 1/(2 f C) ohms.
 *
 * Not modelled: sag and ripple that follow the signal (what a stage draws while it plays changes no rail), ripple that mixes with the signal in a stage's curve, charging that takes time
 * (the highest harmonics of the ripple are too strong), a regulator whose rejection falls with frequency. The volts of a stage's rail are those under its standing load: the sag says how far the
 * supply lies above them without load.
 */
import type { Complex, RailResponse } from '../circuit/index.ts';
import { decibelsToRatio } from '../math/index.ts';
import type { StageValues } from '../stages/index.ts';

/** Harmonics of the ripple that are counted. */
export const rippleOrders = 20;

const number = (values: StageValues, id: string): number => values[id] as number;

/** Whether parts are noisy. */
export const hasNoise = (supply: StageValues | null): supply is StageValues => supply !== null && (supply['noise'] === 'on' || supply['noise'] === 'noise-alone');
/** Whether rails carry ripple. */
export const hasRipple = (supply: StageValues | null): supply is StageValues => supply !== null && (supply['noise'] === 'on' || supply['noise'] === 'ripple-alone');

export const rippleHertz = (supply: StageValues): number => Number(supply['rippleHertz']);

/** All stages on one rail voltage. */
export interface SharedRail {
  readonly volts: number;
  /** Drawn at rest by all of them. */
  readonly amperes: number;
  /** On the rail, peak to peak, regulated. */
  readonly rippleVolts: number;
  /** By which the rail lies below the supply without load. */
  readonly sagVolts: number;
}

/** What the rails of each running circuit make of the supply, in order of first mention. */
export function sharedRails(supply: StageValues, circuits: readonly (readonly RailResponse[])[]): SharedRail[] {
  const amperes = new Map<number, number>();
  for (const rail of circuits.flat()) amperes.set(rail.volts, (amperes.get(rail.volts) ?? 0) + rail.amperes);
  const left = decibelsToRatio(-number(supply, 'regulationDb'));
  const perAmpere = left / (rippleHertz(supply) * number(supply, 'reservoirFarads'));
  return [...amperes].map(([volts, total]) => ({
    volts, amperes: total, rippleVolts: total * perAmpere, sagVolts: total * (number(supply, 'supplyOhms') + perAmpere / 2),
  }));
}

/** Impedance of a rail as its stages see it: `supplyOhms`, and the reservoir with the rectifier's 1/(2 f C) beside it, lessened by the regulator. */
export function sharedImpedance(supply: StageValues, hz: number): Complex {
  const farads = number(supply, 'reservoirFarads');
  const left = decibelsToRatio(-number(supply, 'regulationDb'));
  const ohms = 1 / (2 * rippleHertz(supply) * farads);
  const angle = 2 * Math.PI * hz * ohms * farads;
  const square = 1 + angle * angle;
  return { re: number(supply, 'supplyOhms') + (left * ohms) / square, im: (-left * ohms * angle) / square };
}

/** One harmonic of the ripple at a stage's output: peak volts times a sine that begins, at order 1, with the charge of the reservoir. */
export interface RipplePart {
  readonly order: number;
  readonly sinePeakVolts: number;
  readonly cosinePeakVolts: number;
}

/**
 * What a circuit puts out of the ripple on its rails, whose responses are at the ripple's first `rippleOrders` harmonics. On a rail it is a sawtooth that falls from one charge to
 * the next, Vpp/(π n) sin(2π n t / T); negative rails mirror positive ones.
 */
export function rippleAtOutput(shared: readonly SharedRail[], rails: readonly RailResponse[], gain: number): RipplePart[] {
  return Array.from({ length: rippleOrders }, (_, k) => {
    const order = k + 1;
    let sinePeakVolts = 0;
    let cosinePeakVolts = 0;
    for (const rail of rails) {
      const ripple = shared.find(({ volts }) => volts === rail.volts)?.rippleVolts ?? 0;
      const peak = (Math.sign(rail.volts) * gain * ripple) / (Math.PI * order);
      sinePeakVolts += peak * rail.toOutput[k]!.re;
      cosinePeakVolts += peak * rail.toOutput[k]!.im;
    }
    return { order, sinePeakVolts, cosinePeakVolts };
  });
}
