/** What a linear program does to sines, exactly. */
import { cos, luFactor, luSolve, sin } from '../../math/index.ts';
import type { LinearProgram } from '../contract.ts';
import { complex, over, plus, scaled, times } from './complex.ts';
import type { Complex } from './complex.ts';
import { readSection, sectionSize } from './section.ts';
import { section } from './section-loops.ts';

/** At one frequency below half the rate. */
export function linearTransfer(program: LinearProgram, hz: number): Complex {
  const angle = (Math.PI * hz) / program.rateHz;
  const tangent = sin(angle) / cos(angle);
  let product = complex(program.gain);
  for (let from = 0; from < program.coefficients.length; from += sectionSize) product = times(product, sectionTransfer(program.coefficients, from, tangent));
  return product;
}

function sectionTransfer(coefficients: Float64Array, from: number, tangent: number): Complex {
  const { g, k, direct, band, low } = readSection(coefficients, from);
  const s = complex(0, tangent / g);
  const below = plus(plus(times(s, s), scaled(s, k)), complex(1));
  return plus(complex(direct), over(plus(scaled(s, band), complex(low)), below));
}

/** One period of input volts at the program's rate to one period of output, in the periodic state: with s′ = A s + b over a period, s = (I − A)⁻¹ b, section by section. */
export function steadyLinear(program: LinearProgram, wave: Float64Array): Float64Array {
  let output: Float64Array = Float64Array.from(wave);
  for (let from = 0; from < program.coefficients.length; from += sectionSize) output = periodic(program.coefficients, from, output);
  return output.map((volts) => volts * program.gain + 0);
}

function periodic(coefficients: Float64Array, from: number, wave: Float64Array): Float64Array {
  const run = (memory: Float64Array, drive: number): Float64Array => {
    const buffer = drive === 0 ? new Float64Array(wave.length) : Float64Array.from(wave);
    section(coefficients, from, memory, 0, buffer, 0, wave.length);
    return buffer;
  };
  const state = new Float64Array(2);
  run(state, 1);
  const matrix = new Float64Array(4);
  for (let k = 0; k < 2; k += 1) {
    const unit = new Float64Array(2);
    unit[k] = 1;
    run(unit, 0);
    for (let row = 0; row < 2; row += 1) matrix[2 * row + k] = (row === k ? 1 : 0) - unit[row]!;
  }
  const pivots = new Int32Array(2);
  luFactor(matrix, 2, pivots);
  luSolve(matrix, 2, pivots, state);
  return run(state, 1);
}
