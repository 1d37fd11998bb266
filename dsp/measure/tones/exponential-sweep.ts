/**
 * Sweeps whose frequency rises exponentially with time: x(t) = sin(2π f1 L e^(t/L)), L = T/ln(f2/f1). A harmonic n of it is the same sweep L ln n earlier, so that behind one inverse filter each harmonic has a response of its own
 * (A. Farina, "Simultaneous measurement of impulse response and distortion with a swept-sine technique", 2000). With f1 L a whole number the harmonics' phases are right too (A. Novak, P. Lotton, L. Simon, "Synchronized swept-sine:
 * theory, application and implementation", 2015; the rounding from memory of its older form).
 */
import { exp, log, sin } from '../../math/index.ts';

export interface ExponentialSweep {
  readonly fromHz: number;
  readonly toHz: number;
  /** L: seconds in which the frequency grows e-fold. */
  readonly constantSeconds: number;
  /** From one end to the other. */
  readonly seconds: number;
}

/** L = T/ln(f2/f1) as it is. */
export function exponentialSweep(fromHz: number, toHz: number, seconds: number): ExponentialSweep {
  if (!(fromHz > 0 && toHz > fromHz && seconds > 0)) throw new RangeError(`sweep: expected 0 < from < to and a time above 0, got ${fromHz} Hz to ${toHz} Hz in ${seconds} s`);
  return { fromHz, toHz, seconds, constantSeconds: seconds / log(toHz / fromHz) };
}

/** L rounded so that f1 L is a whole number (at least 1), and the time that this takes. */
export function synchronisedSweep(fromHz: number, toHz: number, seconds: number): ExponentialSweep {
  const { constantSeconds } = exponentialSweep(fromHz, toHz, seconds);
  const synchronised = Math.max(1, Math.round(fromHz * constantSeconds)) / fromHz;
  return { fromHz, toHz, constantSeconds: synchronised, seconds: synchronised * log(toHz / fromHz) };
}

/** By how much harmonic n comes before the response to the sweep itself: L ln n. */
export function harmonicAdvanceSeconds({ constantSeconds }: ExponentialSweep, order: number): number {
  return constantSeconds * log(order);
}

/** Of either end of the sweep: faded in and out over such a share of an octave, for it begins and ends at once. */
const fadeOctaves = 0.5;

/** The sweep as samples of peak 1, faded in over its first half octave and out over its last; whole samples of its time. */
export function sweepSamples({ fromHz, constantSeconds, seconds }: ExponentialSweep, rateHz: number): Float64Array {
  const frames = Math.floor(seconds * rateHz);
  const fadeFrames = Math.max(1, Math.round(fadeOctaves * log(2) * constantSeconds * rateHz));
  return Float64Array.from({ length: frames }, (_, i) => {
    const phase = 2 * Math.PI * fromHz * constantSeconds * exp(i / rateHz / constantSeconds);
    return sin(phase) * raised(i / fadeFrames) * raised((frames - 1 - i) / fadeFrames);
  });
}

/** sin² of a quarter turn: 0 to 1. */
function raised(x: number): number {
  if (x >= 1) return 1;
  const root = sin((Math.PI / 2) * Math.max(0, x));
  return root * root;
}
