// The numbers' public door: functions whose every bit is our own.
export { cosh, exp, EXP_COEFFICIENTS, expInPlace, expm1, LN2_HIGH, LN2_LOW, LOG2_E, ROUNDING_SHIFT, sinh, tanh, tanhInPlace } from './exp.ts';
export { log, LOG_COEFFICIENTS, log10, log1p, log2 } from './log.ts';
export { atan, atan2, cos, sin } from './trigonometric.ts';
export { decibelsToRatio, pow10, power, ratioToDecibels } from './decibels.ts';
export { summitInSteps } from './golden-section.ts';
export { powerOfTwo } from './powers-of-two.ts';
export { luFactor, luSolve } from './linear-solve.ts';
export { complexLuFactor, complexLuSolve } from './complex-linear-solve.ts';
export { SeededRandom } from './seeded-random.ts';
export { ComplexFft } from './complex-fft.ts';
export { RealFft } from './real-fft.ts';
export { besselI, scaledBesselI } from './bessel.ts';
export { lambertW0 } from './lambert-w.ts';
export {
  coherentGain, cosineWindow, kaiserAttenuationDb, kaiserBeta, kaiserTaps, kaiserWindow, noiseBandwidthBins, offsetGainDb, WINDOW_TERMS,
} from './windows.ts';
export type { WindowName } from './windows.ts';
export { nearestOddCycles } from './coherent-frequency.ts';
export { Sha256, sha256 } from './sha256.ts';
