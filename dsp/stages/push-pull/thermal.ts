/**
 * Heat of the output pair. Each transistor's power v_CE · i (i sensed across its emitter resistor) flows into a network of thermal resistances and capacities, volts standing for kelvin above the surroundings and amperes
 * for watts: junction to the common sink, sink to the air. A junction that is ΔT warmer than at rest needs less base voltage, which is the same as that much more bias; what the bias generator follows of it is left out.
 *
 * The pair is taken to be set warm: at rest, heated by its own quiescent current, it carries just that current.
 */
import type { Component } from '../../circuit/index.ts';
import { exp, log, sin } from '../../math/index.ts';
import type { StageValues } from '../contract.ts';
import { stageTemperatureC, stageThermalVolts } from '../shared/thermal-volts.ts';
import { choiceOf, numbersOf } from '../shared/values.ts';
import { earlyVolts, saturationAmperes } from './transistor-values.ts';

/** Band gap of silicon extrapolated to 0 K, V, and the exponent of temperature in the saturation current (P. Gray, R. Meyer, "Analysis and Design of Analog Integrated Circuits", from memory). */
const bandGapVolts = 1.205;
const saturationExponent = 3;
const absoluteZeroC = -273.15;

export const isHeated = (values: StageValues): boolean => choiceOf(values, 'thermal') === 'on';

/** dV_BE/dT at the quiescent current, V/K: (V_BE − V_g − 3 kT/q)/T, about −2 mV/K. */
export function junctionVoltsPerKelvin(values: StageValues): number {
  const v = numbersOf(values);
  const junction = stageThermalVolts * log(v('quiescentAmperes') / ((1 + v('railVolts') / earlyVolts) * saturationAmperes));
  return (junction - bandGapVolts - saturationExponent * stageThermalVolts) / (stageTemperatureC - absoluteZeroC);
}

/** What is left of it by the bias generator, V of bias per kelvin. */
const leftVoltsPerKelvin = (values: StageValues): number => -junctionVoltsPerKelvin(values) * (1 - numbersOf(values)('tracking'));

/** Kelvin per watt in each of the two: both heat the sink. */
const pairKelvinPerWatt = (values: StageValues): number => numbersOf(values)('junctionKelvinPerWatt') + 2 * numbersOf(values)('sinkKelvinPerWatt');

/** Watts in each transistor at rest. */
export function restWatts(values: StageValues): number {
  const v = numbersOf(values);
  return v('quiescentAmperes') * (v('railVolts') - v('quiescentAmperes') * v('emitterOhms'));
}

/** Kelvin above the surroundings at rest. */
export const restKelvin = (values: StageValues): number => restWatts(values) * pairKelvinPerWatt(values);

/** Half of the bias spread that heat at rest stands for already, V. */
export const warmBiasVolts = (values: StageValues): number => leftVoltsPerKelvin(values) * restKelvin(values);

/** The network, and the two sources that carry its temperatures into the bias; nodes "hot-up", "hot-down", "sink" in kelvin, "warm-up" and "warm-down" between bias and bases. */
export function thermalParts(values: StageValues): readonly Component[] {
  const v = numbersOf(values);
  const junctionOhms = v('junctionKelvinPerWatt');
  const sinkOhms = v('sinkKelvinPerWatt');
  const gain = leftVoltsPerKelvin(values);
  const perOhm = 1 / v('emitterOhms');
  const junction = (side: 'up' | 'down', number: 1 | 2): readonly Component[] => [
    { kind: 'resistor', name: `RJ${number}`, between: [`hot-${side}`, 'sink'], ohms: junctionOhms },
    { kind: 'capacitor', name: `CJ${number}`, between: [`hot-${side}`, 'ground'], farads: v('junctionSeconds') / junctionOhms },
  ];
  return [
    { kind: 'product-transconductor', name: 'P1', out: ['hot-up', 'ground'], inA: ['rail-up', 'emitter-up'], inB: ['emitter-up', 'out'], amperesPerVolt2: perOhm },
    { kind: 'product-transconductor', name: 'P2', out: ['hot-down', 'ground'], inA: ['emitter-down', 'rail-down'], inB: ['out', 'emitter-down'], amperesPerVolt2: perOhm },
    ...junction('up', 1),
    ...junction('down', 2),
    { kind: 'resistor', name: 'RSINK', between: ['sink', 'ground'], ohms: sinkOhms },
    { kind: 'capacitor', name: 'CSINK', between: ['sink', 'ground'], farads: v('sinkSeconds') / sinkOhms },
    { kind: 'amplifier', name: 'T1', out: ['warm-up', 'bias-up'], in: ['hot-up', 'ground'], gain },
    { kind: 'amplifier', name: 'T2', out: ['bias-down', 'warm-down'], in: ['hot-down', 'ground'], gain },
  ];
}

/** Gain round the loop power → temperature → bias → current → power at a current of `amperes` in each; 1 or more runs away. */
export function thermalLoopGain(values: StageValues, amperes: number): number {
  const v = numbersOf(values);
  return (leftVoltsPerKelvin(values) * v('railVolts') * pairKelvinPerWatt(values)) / (v('emitterOhms') + stageThermalVolts / amperes);
}

/** Points over a period, and temperatures tried; above this rise nothing is settled any more. */
const pointsOfPeriod = 24;
const rounds = 200;
const ruinKelvin = 250;

/**
 * Settled temperature rise of each junction, K, under a lasting sine of this peak current in the load; null: it runs away. Symmetrical pair without base currents: with s² = i1 i2 for an output current io,
 * kT/q ln(s/IQ) + (√(io²/4 + s²) − IQ) RE = what heat adds to the bias.
 */
export function settledKelvin(values: StageValues, loadPeakAmperes: number): number | null {
  const rest = restKelvin(values);
  let kelvin = rest;
  for (let round = 0; round < rounds; round += 1) {
    const heated = meanWatts(values, loadPeakAmperes, leftVoltsPerKelvin(values) * (kelvin - rest)) * pairKelvinPerWatt(values);
    if (!(heated < ruinKelvin)) return null;
    if (Math.abs(heated - kelvin) < 1e-3) return heated;
    kelvin = heated;
  }
  return null;
}

/** Mean power of one transistor over a period, W, `biasVolts` above what its bias is at rest. */
function meanWatts(values: StageValues, loadPeakAmperes: number, biasVolts: number): number {
  const v = numbersOf(values);
  const quiescent = v('quiescentAmperes');
  let sum = 0;
  for (let k = 0; k < pointsOfPeriod; k += 1) {
    const amperes = loadPeakAmperes * sineOf(k);
    const half = amperes / 2;
    const geometric = geometricMean(quiescent, v('emitterOhms'), Math.abs(half), biasVolts);
    const upper = half + Math.sqrt(half * half + geometric * geometric);
    sum += upper * (v('railVolts') - amperes * v('loadOhms') - upper * v('emitterOhms'));
  }
  return sum / pointsOfPeriod;
}

const sines = Array.from({ length: pointsOfPeriod }, (_, k) => sin((2 * Math.PI * (k + 0.5)) / pointsOfPeriod));
const sineOf = (k: number): number => sines[k]!;

/** s of `settledKelvin`, by bisection of its logarithm: the left side rises with s. */
function geometricMean(quiescent: number, emitterOhms: number, half: number, biasVolts: number): number {
  let [low, high] = [-40, 20];
  for (let k = 0; k < 40; k += 1) {
    const middle = (low + high) / 2;
    const s = quiescent * exp(middle);
    const volts = stageThermalVolts * middle + (Math.sqrt(half * half + s * s) - quiescent) * emitterOhms;
    if (volts > biasVolts) high = middle;
    else low = middle;
  }
  return quiescent * exp((low + high) / 2);
}

/** Peak current in the load when the base is at its limit, A: more than it can be, since the junction's drop is left out. */
const largestPeakAmperes = (values: StageValues): number => {
  const v = numbersOf(values);
  return Math.min(v('driveLimitVolts'), v('railVolts')) / (v('loadOhms') + v('emitterOhms'));
};

/** Shares of the largest peak at which a lasting sine is tried. */
const triedShares = [0, 0.1, 0.25, 0.5, 0.637, 0.8, 1];

/** Why the pair cannot be used with these thermal values; null when it settles at rest and under every sine. */
export function refuseHeat(values: StageValues): string | null {
  if (!isHeated(values)) return null;
  const gain = thermalLoopGain(values, numbersOf(values)('quiescentAmperes'));
  const advice = 'raise the emitter resistors or the tracking, or lower the thermal resistances';
  if (gain >= 1) return `thermal: expected a loop gain below 1 from heat through bias and current back to heat, got ${Number(gain.toPrecision(3))} at rest, which runs away; ${advice}`;
  for (const share of triedShares) {
    if (settledKelvin(values, share * largestPeakAmperes(values)) !== null) continue;
    return `thermal: expected junctions that settle less than ${ruinKelvin} K above the surroundings under a lasting sine, got a pair that runs away at ${Math.round(100 * share)} % of its largest swing; ${advice}`;
  }
  return null;
}
