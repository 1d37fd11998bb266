// Changing a value in mid-signal: what capacitors and inductors store goes over, and nothing jumps.
import { describe, expect, it } from 'vitest';
import { buildProgram, CircuitRunner, measuringTolerance } from '../../dsp/circuit/index.ts';
import { ChannelSolver } from '../../dsp/circuit/solver.ts';
import { createSolverReport } from '../../dsp/circuit/solver-report.ts';
import type { CircuitDocument } from '../../dsp/circuit/index.ts';
import { capacitor, inductor, input, parsedOf, resistor } from '../support/circuits.ts';
import { commonEmitter, expectWithin, largestDifference, opAmpLoop, pushPull, rateHz } from './support.ts';

const drive = (peakVolts: number) => (k: number): number => peakVolts * Math.sin((2 * Math.PI * k) / 384);

function run(runner: CircuitRunner, from: number, frames: number, signal: (k: number) => number): Float64Array {
  const wave = Float64Array.from({ length: frames }, (_, k) => signal(from + k));
  runner.process([wave], 0, frames);
  return wave;
}

describe('take-over by the same circuit', () => {
  it.each([
    // Of the output's peak, its DC included where it has one. The half step's input is taken as the mean of two samples, h²/8 of the signal's own
    // bending away from it (3e-5 at 1 kHz); a capacitor as fast as the step sees that, and where no DC is in the peak it is 0.004 %.
    ['common emitter, at the collector', { ...commonEmitter(), output: ['c', 'ground'] } as CircuitDocument, 0.2, 5e-6],
    ['common emitter, after its coupling capacitor', commonEmitter(), 0.2, 5e-5],
    ['push-pull', pushPull(), 2, 5e-6], ['op-amp loop', opAmpLoop(), 1, 6e-6],
  ] as const)('in mid-signal hardly jumps: %s', (_, document, peakVolts, limit) => {
    const program = buildProgram(document, { rateHz });
    const signal = drive(peakVolts);
    for (const swapAt of [1000, 1050, 1111, 1200]) {
      const undisturbed = run(new CircuitRunner(program, 1, measuringTolerance), 0, swapAt + 500, signal);
      const first = new CircuitRunner(program, 1, measuringTolerance);
      run(first, 0, swapAt, signal);
      const second = new CircuitRunner(program, 1, measuringTolerance);
      second.adopt(first);
      const after = run(second, swapAt, 500, signal);
      const peak = Math.max(...undisturbed.map(Math.abs));
      expect(largestDifference(after, undisturbed.subarray(swapAt)) / peak).toBeLessThan(limit);
    }
  });
});

describe('take-over by another value', () => {
  it('keeps a capacitor\'s voltage, not its charge or current, when its value changes', () => {
    const document = (farads: number): CircuitDocument => parsedOf([input('a'), resistor('R1', 'a', 'b', 1000), capacitor('C1', 'b', 'ground', farads)], ['b', 'ground']);
    const first = new CircuitRunner(buildProgram(document(1e-6), { rateHz }), 1);
    const before = run(first, 0, 200, () => 5);
    const second = new CircuitRunner(buildProgram(document(5e-6), { rateHz }), 1);
    second.adopt(first);
    const after = run(second, 200, 4000, () => 5);
    const start = before[199]!;
    // Exponential from the old voltage with the new time constant, 5 ms; 1e-5 V: h/τ of one step's damping.
    after.forEach((volts, k) => expectWithin(volts, 5 + (start - 5) * Math.exp(-(k + 1) / rateHz / 5e-3), 1e-5, `sample ${k}`));
  });

  it('keeps an inductor\'s current', () => {
    const document = (henries: number): CircuitDocument => parsedOf([input('a'), inductor('L1', 'a', 'b', henries), resistor('R1', 'b', 'ground', 100)], ['b', 'ground']);
    const first = new CircuitRunner(buildProgram(document(0.1), { rateHz }), 1);
    const before = run(first, 0, 200, () => 1);
    const second = new CircuitRunner(buildProgram(document(0.4), { rateHz }), 1);
    second.adopt(first);
    const after = run(second, 200, 4000, () => 1);
    after.forEach((volts, k) => expectWithin(volts, 1 + (before[199]! - 1) * Math.exp(-(k + 1) / rateHz / 4e-3), 1e-5, `sample ${k}`));
  });

  it('settled: a bias that moves leaves no thump, carried: the real thump', () => {
    const old = buildProgram(commonEmitter(), { rateHz });
    const changed = buildProgram(commonEmitter({ collectorOhms: 1500 }), { rateHz });
    const takeOver = (bias: 'settled' | 'carried'): Float64Array => {
      const first = new CircuitRunner(old, 1);
      run(first, 0, 300, () => 0);
      const second = new CircuitRunner(changed, 1);
      second.adopt(first, bias);
      return run(second, 300, 2000, () => 0);
    };
    expect(Math.max(...takeOver('settled').map(Math.abs))).toBeLessThan(1e-9);
    // The collector moves by about 5 mA · 700 Ω = 3.5 V, and the output coupling capacitor passes it on.
    expect(Math.max(...takeOver('carried').map(Math.abs))).toBeGreaterThan(2);
  });

  it('starts a part that was not there at its operating point', () => {
    const plain = new CircuitRunner(buildProgram(pushPull(2.6e-3, false), { rateHz }), 1);
    run(plain, 0, 100, drive(1));
    const program = buildProgram(pushPull(), { rateHz });
    const runner = new CircuitRunner(program, 1);
    runner.adopt(plain);
    const wave = run(runner, 100, 100, () => 0);
    expectWithin(wave[99]!, program.restOutputVolts, 0.05);
    expect(runner.report.capHits[0]).toBe(0);
  });

  it('takes over channel by channel', () => {
    const program = buildProgram(commonEmitter(), { rateHz });
    const first = new CircuitRunner(program, 2);
    const left = Float64Array.from({ length: 500 }, (_, k) => drive(0.1)(k));
    const right = Float64Array.from({ length: 500 }, (_, k) => -drive(0.3)(k));
    first.process([left, right], 0, 500);
    const second = new CircuitRunner(program, 2);
    second.adopt(first);
    const [l, r] = [new Float64Array(100), new Float64Array(100)].map((wave, c) => wave.map((_, k) => (c === 0 ? drive(0.1) : drive(-0.3))(500 + k))) as [Float64Array, Float64Array];
    left.set(l);
    right.set(r);
    second.process([l, r], 0, 100);
    first.process([left, right], 0, 100);
    expect(largestDifference(l, left.subarray(0, 100))).toBeLessThan(1e-4);
    expect(largestDifference(r, right.subarray(0, 100))).toBeLessThan(3e-4);
  });
});

describe('the start', () => {
  it('changes nothing at the operating point', () => {
    const program = buildProgram({ ...commonEmitter(), output: ['c', 'ground'] }, { rateHz });
    const wave = run(new CircuitRunner(program, 1), 0, 100, () => 0);
    for (const volts of wave) expectWithin(volts, program.restOutputVolts, 1e-9);
  });

  it('damps an alternating mode that a jump of 5 V would set ringing', () => {
    // 2 nF behind 220 Ω at 48 kHz: decay ratio −0.92, kept trapezoidal because backward Euler would cost more than 0.005 dB at 20 kHz.
    const document = (farads: number): CircuitDocument => parsedOf([input('a'), resistor('R1', 'a', 'b', 220), capacitor('C1', 'b', 'ground', farads)], ['b', 'ground']);
    const program = buildProgram(document(2e-9), { rateHz: 48_000 });
    expect(Array.from(program.stateBackwardEuler)).toEqual([0]);
    // A farad has not charged when its 2 nF successor takes its place.
    const slow = new CircuitRunner(buildProgram(document(1), { rateHz: 48_000 }), 1);
    run(slow, 0, 5, () => 5);
    const runner = new CircuitRunner(program, 1);
    runner.adopt(slow);
    const started = run(runner, 5, 40, () => 5);
    const plain = new Float64Array(40).fill(5);
    new ChannelSolver(program, createSolverReport(1), 0).run(plain, 0, 40);
    // After τ = 0.44 µs of a 20.8 µs step the truth is 5 V to 1e-20.
    const error = (wave: Float64Array, from: number): number => Math.max(...wave.subarray(from).map((volts) => Math.abs(volts - 5)));
    expect(error(plain, 0)).toBeGreaterThan(0.15);
    expect(error(plain, 20)).toBeGreaterThan(0.03);
    expect(error(started, 0)).toBeLessThan(error(plain, 0) / 20);
    expect(error(started, 20)).toBeLessThan(error(plain, 20) / 20);
  });
});
