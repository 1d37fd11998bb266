/**
 * Small signals in the analogue circuit at its operating point: transfer, output and input impedance, by complex arithmetic on
 * `(S_dc − Si J P + jω E) w = s`. No step, no approximation but linearity. Not for the audio thread.
 */
import { complexLuFactor, complexLuSolve } from '../math/index.ts';
import { CircuitError } from './document-errors.ts';
import { addDeviceConductances } from './linear-network.ts';
import type { OperatingPoint } from './operating-point.ts';
import { replaceRows } from './singularity.ts';
import type { CircuitSystem } from './system.ts';

/** A complex number: a transfer in V/V or an impedance in Ω. */
export interface Complex {
  readonly re: number;
  readonly im: number;
}

/** Output volts per volt of signal at each frequency in Hz (0 allowed). Throws `CircuitError` without an input or where the circuit is singular. */
export function exactResponse(system: CircuitSystem, point: OperatingPoint, frequenciesHz: ArrayLike<number>): Complex[] {
  const input = inputOf(system);
  return solveEach(system, point, frequenciesHz, (sides) => {
    sides[input] = 1;
  }, (w) => acrossOutput(system, w));
}

/**
 * Output impedance in Ω at each frequency: the voltage one ampere into the first output node (out of the second) makes there, with the
 * input at rest, that is shorted for the signal.
 */
export function outputImpedance(system: CircuitSystem, point: OperatingPoint, frequenciesHz: ArrayLike<number>): Complex[] {
  const [plus, minus] = system.outputRows;
  return solveEach(system, point, frequenciesHz, (sides) => {
    if (plus >= 0) sides[plus] = 1;
    if (minus >= 0) sides[minus] = -1;
  }, (w) => acrossOutput(system, w));
}

/** Impedance in Ω that the input source sees at each frequency; infinite where it drives no current. */
export function inputImpedance(system: CircuitSystem, point: OperatingPoint, frequenciesHz: ArrayLike<number>): Complex[] {
  const input = inputOf(system);
  return solveEach(system, point, frequenciesHz, (sides) => {
    sides[input] = 1;
  }, (w) => {
    // The branch current flows from the plus node through the source: what the circuit takes is its negative.
    const current = w(input);
    const square = current.re * current.re + current.im * current.im;
    return square === 0 ? { re: Infinity, im: 0 } : { re: -current.re / square, im: current.im / square };
  });
}

function inputOf(system: CircuitSystem): number {
  if (system.inputBranch < 0) throw new CircuitError('expected a circuit with an input, got none');
  return system.inputBranch;
}

/** Node voltages and branch currents by row; 0 for ground. */
export type Solution = (row: number) => Complex;

function acrossOutput(system: CircuitSystem, w: Solution): Complex {
  const plus = w(system.outputRows[0]);
  const minus = w(system.outputRows[1]);
  return { re: plus.re - minus.re, im: plus.im - minus.im };
}

function solveEach(
  system: CircuitSystem, point: OperatingPoint, frequenciesHz: ArrayLike<number>, drive: (sides: Float64Array) => void, read: (w: Solution) => Complex,
): Complex[] {
  const at = smallSignals(system, point);
  return Array.from(frequenciesHz, (hz) => read(at(hz)(drive)));
}

/**
 * The linearised circuit, to be asked at any frequency with any excitation: `at(hz)` factors once, each call of what it returns puts (real) right-hand
 * sides in and gives the solution. Throws `CircuitError` where the circuit is singular.
 */
export function smallSignals(system: CircuitSystem, point: OperatingPoint): (hz: number) => (drive: (sides: Float64Array) => void) => Solution {
  const { size } = system;
  const conductance = system.stamp({ kind: 'direct-current' }).matrix;
  addDeviceConductances(system, point.jacobian, conductance);
  const storage = system.stampStorage();
  return (hz) => {
    const re = conductance.slice();
    // At 0 Hz everything redundant at the operating point is so again; above, only loops without an inductor.
    const redundant = point.redundantRows.filter((row) => hz === 0 || !row.hasInductor);
    replaceRows(re, size, redundant);
    const im = storage.map((value) => 2 * Math.PI * hz * value);
    for (const { row } of redundant) im.fill(0, row * size, (row + 1) * size);
    const pivots = new Int32Array(size);
    if (!complexLuFactor(re, im, size, pivots)) throw new CircuitError(`the circuit has no small-signal solution at ${hz} Hz`);
    return (drive) => {
      const sideRe = new Float64Array(size);
      drive(sideRe);
      for (const { row } of redundant) sideRe[row] = 0;
      const sideIm = new Float64Array(size);
      complexLuSolve(re, im, size, pivots, sideRe, sideIm);
      return (row) => (row < 0 ? { re: 0, im: 0 } : { re: sideRe[row]!, im: sideIm[row]! });
    };
  };
}
