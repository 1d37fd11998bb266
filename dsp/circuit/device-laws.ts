/**
 * The nonlinear laws, each from control voltages to currents and their derivatives. p-types reach them mirrored, so one law
 * serves both. Reached from the audio callback: nothing here allocates, throws or waits; what a law needs is read from a flat
 * parameter array at `at`, laid out as the law's docblock says (`devices.ts` fills it).
 *
 * Exponents are clamped to [−100, 700]: e^−100 vanishes beside 1 and IS·e^−100 stays a normal number, while below it
 * subnormals would slow the loop.
 */
import { exp, expInPlace, tanhInPlace } from '../math/index.ts';

export const lowestExponent = -100;
export const highestExponent = 700;

/** Half the width of the triode's toe in volts of effective voltage: outside ±2 mV the three-halves law is exact. */
export const triodeToeVolts = 0.002;

const lowestExp = exp(lowestExponent);

/** e^values[at] in its place, within the bounds. A junction biased far backwards, as most are, costs no exponential: the same bits either way. */
function boundedExpInPlace(values: Float64Array, at: number): void {
  const x = values[at]!;
  if (x < lowestExponent) {
    values[at] = lowestExp;
    return;
  }
  if (x > highestExponent) values[at] = highestExponent;
  expInPlace(values, at);
}

/**
 * Diode `IS (e^(v/(n VT)) − 1)`, anode to cathode (Shockley, "The theory of p-n junctions in semiconductors", 1949).
 * Parameters: IS, 1/(n VT).
 */
export function diodeLaw(
  parameters: Float64Array, at: number, v: Float64Array, vAt: number, i: Float64Array, iAt: number, jacobian: Float64Array, jAt: number,
): void {
  const saturation = parameters[at]!;
  const perVolt = parameters[at + 1]!;
  i[iAt] = v[vAt]! * perVolt;
  boundedExpInPlace(i, iAt);
  const grown = saturation * i[iAt]!;
  i[iAt] = grown - saturation;
  jacobian[jAt] = grown * perVolt;
}

/**
 * Bipolar transistor, transport form (Gummel, Poon 1970 without high-level injection; Early factor on v_BC), controls v_BE and
 * v_BC, currents base→emitter `iCT + IS/βF (e^(vBE/VT) − 1)` and base→collector `IS/βR (e^(vBC/VT) − 1) − iCT` with
 * `iCT = IS (e^(vBE/VT) − e^(vBC/VT)) (1 − vBC/VA)`.
 * Parameters: IS, 1/VT, IS/βF, IS/βR, 1/VA (0: no Early effect).
 */
export function bipolarLaw(
  parameters: Float64Array, at: number, v: Float64Array, vAt: number, i: Float64Array, iAt: number, jacobian: Float64Array, jAt: number,
): void {
  const saturation = parameters[at]!;
  const perVolt = parameters[at + 1]!;
  const forwardLeak = parameters[at + 2]!;
  const reverseLeak = parameters[at + 3]!;
  const perEarlyVolt = parameters[at + 4]!;
  const vCollector = v[vAt + 1]!;
  i[iAt] = v[vAt]! * perVolt;
  i[iAt + 1] = vCollector * perVolt;
  boundedExpInPlace(i, iAt);
  boundedExpInPlace(i, iAt + 1);
  const forward = i[iAt]!;
  const reverse = i[iAt + 1]!;
  const widening = 1 - vCollector * perEarlyVolt;
  const linking = saturation * (forward - reverse);
  const transport = linking * widening;
  const transportByEmitter = saturation * forward * perVolt * widening;
  const transportByCollector = -(saturation * reverse * perVolt * widening) - linking * perEarlyVolt;
  i[iAt] = transport + forwardLeak * (forward - 1);
  i[iAt + 1] = reverseLeak * (reverse - 1) - transport;
  jacobian[jAt] = transportByEmitter + forwardLeak * forward * perVolt;
  jacobian[jAt + 1] = transportByCollector;
  jacobian[jAt + 2] = -transportByEmitter;
  jacobian[jAt + 3] = reverseLeak * reverse * perVolt - transportByCollector;
}

/**
 * The bipolar transistor's forward half: the same transport form with e^(vBC/VT) left out of it and counted from 0, so `iCT = IS (e^(vBE/VT) − 1) (1 − vBC/VA)`, base→emitter
 * `iCT + IS/βF (e^(vBE/VT) − 1)`, base→collector `−iCT`. In forward operation it differs from the whole by IS.
 * Parameters: IS, 1/VT, IS/βF, 1/VA (0: no Early effect).
 */
export function forwardBipolarLaw(
  parameters: Float64Array, at: number, v: Float64Array, vAt: number, i: Float64Array, iAt: number, jacobian: Float64Array, jAt: number,
): void {
  const saturation = parameters[at]!;
  const perVolt = parameters[at + 1]!;
  const forwardLeak = parameters[at + 2]!;
  const perEarlyVolt = parameters[at + 3]!;
  i[iAt] = v[vAt]! * perVolt;
  boundedExpInPlace(i, iAt);
  const forward = i[iAt]!;
  const widening = 1 - v[vAt + 1]! * perEarlyVolt;
  const linking = saturation * (forward - 1);
  const transport = linking * widening;
  const transportByEmitter = saturation * forward * perVolt * widening;
  const transportByCollector = -(linking * perEarlyVolt);
  i[iAt] = transport + forwardLeak * (forward - 1);
  i[iAt + 1] = -transport;
  jacobian[jAt] = transportByEmitter + forwardLeak * forward * perVolt;
  jacobian[jAt + 1] = transportByCollector;
  jacobian[jAt + 2] = -transportByEmitter;
  jacobian[jAt + 3] = -transportByCollector;
}

/**
 * The field-effect transistor's square law alone, drain→source `β vov² (1 + λ vDS)` whatever vDS, nothing for vov = vGS − Vt ≤ 0.
 * Parameters: Vt, β, λ.
 */
export function forwardFieldEffectLaw(
  parameters: Float64Array, at: number, v: Float64Array, vAt: number, i: Float64Array, iAt: number, jacobian: Float64Array, jAt: number,
): void {
  const beta = parameters[at + 1]!;
  const lambda = parameters[at + 2]!;
  const above = v[vAt]! - parameters[at]!;
  const overdrive = above > 0 ? above : 0;
  const slope = 1 + lambda * (v[vAt]! - v[vAt + 1]!);
  const squared = beta * overdrive * overdrive;
  const byAcross = squared * lambda;
  i[iAt] = squared * slope;
  jacobian[jAt] = 2 * beta * overdrive * slope + byAcross;
  jacobian[jAt + 1] = -byAcross;
}

/**
 * Field-effect transistor (Shichman, Hodges 1968), controls v_GS and v_GD, currents drain→source and, if `currents` is 3, the
 * gate→source and gate→drain diodes. For v_DS ≥ 0: `β vov² (1 + λ vDS)` beyond pinch-off, `β vDS (2 vov − vDS) (1 + λ vDS)` below,
 * vov = vGS − Vt, nothing for vov ≤ 0. For v_DS < 0 drain and source change places.
 * Parameters: Vt, β, λ, gate IS, 1/VT.
 */
export function fieldEffectLaw(
  parameters: Float64Array, at: number, currents: number,
  v: Float64Array, vAt: number, i: Float64Array, iAt: number, jacobian: Float64Array, jAt: number,
): void {
  const beta = parameters[at + 1]!;
  const lambda = parameters[at + 2]!;
  const vSource = v[vAt]!;
  const vDrain = v[vAt + 1]!;
  const reversed = vSource < vDrain;
  const overdrive = (reversed ? vDrain : vSource) - parameters[at]!;
  const across = reversed ? vDrain - vSource : vSource - vDrain;
  let channel = 0;
  let byGate = 0;
  let byAcross = 0;
  if (overdrive > 0) {
    const slope = 1 + lambda * across;
    if (across < overdrive) {
      const parabola = across * (2 * overdrive - across);
      channel = beta * parabola * slope;
      byGate = 2 * beta * across * slope;
      byAcross = beta * (2 * (overdrive - across) * slope + parabola * lambda);
    } else {
      channel = beta * overdrive * overdrive * slope;
      byGate = 2 * beta * overdrive * slope;
      byAcross = beta * overdrive * overdrive * lambda;
    }
  }
  // v_DS = v_GS − v_GD: the law's own gate voltage carries both derivatives, the other terminal's only the second.
  i[iAt] = reversed ? -channel : channel;
  jacobian[jAt] = reversed ? byAcross : byGate + byAcross;
  jacobian[jAt + 1] = reversed ? -(byGate + byAcross) : -byAcross;
  if (currents === 3) {
    const saturation = parameters[at + 3]!;
    const perVolt = parameters[at + 4]!;
    i[iAt + 1] = vSource * perVolt;
    i[iAt + 2] = vDrain * perVolt;
    boundedExpInPlace(i, iAt + 1);
    boundedExpInPlace(i, iAt + 2);
    const toSource = saturation * i[iAt + 1]!;
    const toDrain = saturation * i[iAt + 2]!;
    i[iAt + 1] = toSource - saturation;
    i[iAt + 2] = toDrain - saturation;
    jacobian[jAt + 2] = toSource * perVolt;
    jacobian[jAt + 3] = 0;
    jacobian[jAt + 4] = 0;
    jacobian[jAt + 5] = toDrain * perVolt;
  }
}

/**
 * Triode (Child 1911, Langmuir 1913 for the three-halves law), controls v_GK and v_AK, currents anode→cathode `K E^(3/2)`,
 * E = vGK + vAK/µ, and, if `currents` is 2, grid→cathode `Kg vGK^(3/2)` for vGK > 0.
 * Toe: between −w and w (w = `triodeToeVolts`) E is replaced by (E + w)²/4w, which meets 0 and E with equal slopes; the current's
 * slope is continuous everywhere, and the toe is 4 mV wide.
 * Parameters: K, 1/µ, Kg.
 */
export function triodeLaw(
  parameters: Float64Array, at: number, currents: number,
  v: Float64Array, vAt: number, i: Float64Array, iAt: number, jacobian: Float64Array, jAt: number,
): void {
  const perveance = parameters[at]!;
  const perMu = parameters[at + 1]!;
  const vGrid = v[vAt]!;
  const effective = vGrid + v[vAt + 1]! * perMu;
  let drive = effective;
  let driveSlope = 1;
  if (effective < triodeToeVolts) {
    const into = effective + triodeToeVolts;
    drive = into > 0 ? (into * into) / (4 * triodeToeVolts) : 0;
    driveSlope = into > 0 ? into / (2 * triodeToeVolts) : 0;
  }
  const root = Math.sqrt(drive);
  const slope = 1.5 * perveance * root * driveSlope;
  i[iAt] = perveance * drive * root;
  jacobian[jAt] = slope;
  jacobian[jAt + 1] = slope * perMu;
  if (currents === 2) {
    const gridPerveance = parameters[at + 2]!;
    const positive = vGrid > 0 ? vGrid : 0;
    const gridRoot = Math.sqrt(positive);
    i[iAt + 1] = gridPerveance * positive * gridRoot;
    jacobian[jAt + 2] = 1.5 * gridPerveance * gridRoot;
    jacobian[jAt + 3] = 0;
  }
}

/**
 * Tanh transconductor: the current of an undegenerated bipolar pair, `Imax tanh(v/Vs)`, from the second output node to the first.
 * Parameters: Imax, 1/Vs.
 */
export function tanhLaw(
  parameters: Float64Array, at: number, v: Float64Array, vAt: number, i: Float64Array, iAt: number, jacobian: Float64Array, jAt: number,
): void {
  const largest = parameters[at]!;
  const perVolt = parameters[at + 1]!;
  i[iAt] = v[vAt]! * perVolt;
  tanhInPlace(i, iAt);
  const steering = i[iAt]!;
  i[iAt] = largest * steering;
  jacobian[jAt] = largest * perVolt * (1 - steering * steering);
}

/**
 * Product transconductor, from the second output node to the first: k v_A v_B. Both derivatives vanish where both voltages are 0, so that a network at
 * rest without supplies is left alone.
 * Parameters: k.
 */
export function productLaw(
  parameters: Float64Array, at: number, v: Float64Array, vAt: number, i: Float64Array, iAt: number, jacobian: Float64Array, jAt: number,
): void {
  const byFirst = parameters[at]! * v[vAt + 1]!;
  i[iAt] = byFirst * v[vAt]!;
  jacobian[jAt] = byFirst;
  jacobian[jAt + 1] = parameters[at]! * v[vAt]!;
}
