// The reduction changes nothing: what it says equals the nodal equations, and linear circuits equal their closed forms.
import { describe, expect, it } from 'vitest';
import { assembleCircuit, buildProgram, discreteResponse } from '../../dsp/circuit/index.ts';
import { reduce } from '../../dsp/circuit/reduce.ts';
import { SeededRandom } from '../../dsp/math/index.ts';
import { capacitor, inductor, input, parsedOf, resistor } from '../support/circuits.ts';
import { commonEmitter, expectWithin, opAmpLoop, pushPull, rateHz } from './support.ts';

const seed = 20261125;

/** Gauss's elimination with exchanges, on copies. */
function solve(matrix: Float64Array, right: Float64Array, n: number): Float64Array {
  const a = matrix.slice();
  const b = right.slice();
  for (let k = 0; k < n; k += 1) {
    let best = k;
    for (let row = k; row < n; row += 1) if (Math.abs(a[row * n + k]!) > Math.abs(a[best * n + k]!)) best = row;
    for (let c = 0; c < n; c += 1) [a[k * n + c], a[best * n + c]] = [a[best * n + c]!, a[k * n + c]!];
    [b[k], b[best]] = [b[best]!, b[k]!];
    for (let row = 0; row < n; row += 1) {
      if (row === k) continue;
      const f = a[row * n + k]! / a[k * n + k]!;
      for (let c = k; c < n; c += 1) a[row * n + c]! -= f * a[k * n + c]!;
      b[row]! -= f * b[k]!;
    }
  }
  return b.map((value, k) => value / a[k * n + k]!);
}

describe('reduction', () => {
  it.each([['common emitter', commonEmitter()], ['push-pull', pushPull()], ['op-amp loop', opAmpLoop()]] as const)('equals the nodal equations: %s', (_, document) => {
    const system = assembleCircuit(document);
    const random = new SeededRandom(seed);
    const { size } = system;
    const n = system.states.length;
    const r = system.devices.currentCount;
    const backwardEuler = Uint8Array.from({ length: n }, (_entry, k) => k % 2);
    const reduced = reduce(system, { stepSeconds: 1 / rateHz, backwardEuler, shift: null, redundant: [] });
    const stamped = system.stamp({ kind: 'step', stepSeconds: 1 / rateHz, backwardEuler });
    const u = random.nextGaussian();
    const z = Float64Array.from({ length: n }, () => random.nextGaussian());
    const i = Float64Array.from({ length: r }, () => 1e-3 * random.nextGaussian());
    const right = stamped.constant.map((constant, row) =>
      constant + stamped.input[row]! * u + z.reduce((sum, value, k) => sum + stamped.memory[row * n + k]! * value, 0)
      + i.reduce((sum, value, k) => sum + stamped.current[row * r + k]! * value, 0));
    const w = solve(stamped.matrix, right, size);
    const at = (row: number): number => (row < 0 ? 0 : w[row]!);
    const rowOf = (constant: number, gain: number, memory: Float64Array, current: Float64Array): number =>
      constant + gain * u + memory.reduce((sum, value, k) => sum + value * z[k]!, 0) + current.reduce((sum, value, k) => sum + value * i[k]!, 0);
    // 1e-9 V: two eliminations of the same equations, conductances from 1e-6 to 1e2 S.
    for (let k = 0; k < system.devices.controlCount; k += 1) {
      const v = rowOf(reduced.portConstant[k]!, reduced.portInput[k]!, reduced.portMemory.subarray(k * n, k * n + n), reduced.portCurrent.subarray(k * r, k * r + r));
      expectWithin(v, system.controlSigns[k]! * (at(system.controlRows[2 * k]!) - at(system.controlRows[2 * k + 1]!)), 1e-9, `control ${k}`);
    }
    for (let k = 0; k < n; k += 1) {
      const next = rowOf(reduced.stateConstant[k]!, reduced.stateInput[k]!, reduced.stateMemory.subarray(k * n, k * n + n), reduced.stateCurrent.subarray(k * r, k * r + r));
      const q = at(system.stateRows[2 * k]!) - at(system.stateRows[2 * k + 1]!);
      expectWithin(next, backwardEuler[k] === 1 ? q : 2 * q - z[k]!, 1e-9, `state ${k}`);
    }
    const y = rowOf(reduced.outputConstant[0]!, reduced.outputInput[0]!, reduced.outputMemory, reduced.outputCurrent);
    expectWithin(y, at(system.outputRows[0]) - at(system.outputRows[1]), 1e-9, 'output');
  });
});

describe('linear circuits against the bilinear transform', () => {
  // s → j (2/h) tan(ωh/2) for the trapezoidal rule (Tustin 1947; any text on digital filters).
  const warped = (hz: number, rate: number): number => 2 * rate * Math.tan((Math.PI * hz) / rate);

  it('low-pass of R and C, to 1e-12', () => {
    const program = buildProgram(parsedOf([input('a'), resistor('R1', 'a', 'b', 1000), capacitor('C1', 'b', 'ground', 1e-7)], ['b', 'ground']), { rateHz: 48_000 });
    expect(program.backwardEuler).toHaveLength(0);
    for (const hz of [20, 1000, 10_000, 20_000]) {
      const [{ re, im }] = discreteResponse(program, [hz]) as [{ re: number; im: number }];
      const x = warped(hz, 48_000) * 1e-4;
      expectWithin(re, 1 / (1 + x * x), 1e-12, `re ${hz}`);
      expectWithin(im, -x / (1 + x * x), 1e-12, `im ${hz}`);
    }
  });

  it('resonance of R, L and C, and of loosely coupled windings', () => {
    const parts = [input('a'), resistor('R1', 'a', 'b', 50), inductor('L1', 'b', 'c', 10e-3), capacitor('C1', 'c', 'ground', 1e-7)];
    const program = buildProgram(parsedOf(parts, ['c', 'ground']), { rateHz: 192_000 });
    for (const hz of [100, 5032, 20_000]) {
      const [{ re, im }] = discreteResponse(program, [hz]) as [{ re: number; im: number }];
      const w = warped(hz, 192_000);
      const a = 1 - w * w * 10e-3 * 1e-7;
      const b = w * 50 * 1e-7;
      expectWithin(Math.hypot(re, im), 1 / Math.hypot(a, b), 1e-11 / Math.hypot(a, b), `magnitude ${hz}`);
    }
    const windings = { kind: 'coupled-inductors', name: 'T1', primary: ['b', 'ground'], secondary: ['c', 'ground'], primaryHenries: 1, secondaryHenries: 1, coupling: 0.99 };
    const transformer = buildProgram(parsedOf([input('a'), resistor('R1', 'a', 'b', 100), windings, resistor('R2', 'c', 'ground', 100)], ['c', 'ground']), { rateHz: 192_000 });
    for (const hz of [20, 200, 2000]) {
      const [{ re, im }] = discreteResponse(transformer, [hz]) as [{ re: number; im: number }];
      const w = warped(hz, 192_000);
      // Common and differential mode of two equal windings: v2 = (Hc − Hd)/2, H = jωL'/(R + jωL').
      const high = (henries: number): [number, number] => {
        const x = (w * henries) / 100;
        return [(x * x) / (1 + x * x), x / (1 + x * x)];
      };
      const [common, differential] = [high(1.99), high(0.01)];
      expectWithin(re, (common[0] - differential[0]) / 2, 1e-9, `re ${hz}`);
      expectWithin(im, (common[1] - differential[1]) / 2, 1e-9, `im ${hz}`);
    }
  });
});
