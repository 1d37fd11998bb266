/**
 * What the shaping stage makes of a periodic signal, exactly: the filters are linear, so the memory that repeats after one period is solved for, not waited for.
 */
import { luFactor, luSolve } from '../../math/index.ts';
import type { PolynomialProgram } from '../contract.ts';
import { heldParts, polynomialParts, scratchAt, scratchSize, stepAllPass, stepBandLimit, stepBlocking } from './branch.ts';
import { at } from './program.ts';
import { sectionCount } from './quadrature.ts';

type FilterStep<Coefficient> = (state: Float64Array, k: number, coefficient: Coefficient, x: number) => number;

/** One period through a linear filter in its periodic state: with s′ = A s + b over a period, s = (I − A)⁻¹ b. */
function periodic<Coefficient>(step: FilterStep<Coefficient>, coefficient: Coefficient, order: number, wave: Float64Array): Float64Array {
  const run = (state: Float64Array, drive: number, out: Float64Array | null): Float64Array => {
    for (let n = 0; n < wave.length; n += 1) {
      const y = step(state, 0, coefficient, drive * wave[n]!);
      if (out !== null) out[n] = y;
    }
    return state;
  };
  const state = run(new Float64Array(order), 1, null);
  const matrix = new Float64Array(order * order);
  for (let k = 0; k < order; k += 1) {
    const unit = new Float64Array(order);
    unit[k] = 1;
    run(unit, 0, null);
    for (let row = 0; row < order; row += 1) matrix[row * order + k] = (row === k ? 1 : 0) - unit[row]!;
  }
  const pivots = new Int32Array(order);
  luFactor(matrix, order, pivots);
  luSolve(matrix, order, pivots, state);
  const out = new Float64Array(wave.length);
  run(state, 1, out);
  return out;
}

/** Output volts over one period of the input `wave` (volts at the program's internal rate). */
export function steadyShaping(program: PolynomialProgram, wave: Float64Array): Float64Array {
  const p = program.parameters;
  const makeUp = p[at.makeUpRatio]!;
  if (p[at.second] === 0 && p[at.third] === 0) return wave.map((x) => x * makeUp + 0);
  const held = p[at.held] === 1;
  const limited = periodic(stepBandLimit, p, 2, wave);
  const even = new Float64Array(wave.length);
  const odd = new Float64Array(wave.length);
  let first = limited;
  let second = limited;
  for (let k = 0; held && k < sectionCount; k += 2) {
    first = periodic(stepAllPass, p[at.quadrature + k]!, 1, first);
    second = periodic(stepAllPass, p[at.quadrature + k + 1]!, 1, second);
  }
  const scratch = new Float64Array(scratchSize);
  for (let n = 0; n < wave.length; n += 1) {
    scratch[scratchAt.limited] = limited[n]!;
    scratch[scratchAt.first] = first[n]!;
    scratch[scratchAt.second] = second[n]!;
    if (held) heldParts(p, scratch);
    else polynomialParts(p, scratch);
    even[n] = scratch[scratchAt.even]!;
    odd[n] = scratch[scratchAt.odd]!;
  }
  const blocked = periodic(stepBlocking, p[at.blocking]!, 1, even);
  return wave.map((x, n) => (x + (blocked[n]! + odd[n]!)) * makeUp + 0);
}
