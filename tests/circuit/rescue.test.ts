// Newton never gives up: squares, noise at the internal rate, +40 dB overdrive, fast loops. And where it must be rescued, the answer is the solution.
import { describe, expect, it } from 'vitest';
import { buildProgram, CircuitRunner, measuringTolerance } from '../../dsp/circuit/index.ts';
import type { CircuitDocument, CircuitProgram } from '../../dsp/circuit/index.ts';
import { denseEquations } from '../../dsp/circuit/discrete-response.ts';
import { Rescue } from '../../dsp/circuit/rescue.ts';
import { ChannelSolver } from '../../dsp/circuit/solver.ts';
import { createSolverReport } from '../../dsp/circuit/solver-report.ts';
import { SeededRandom } from '../../dsp/math/index.ts';
import { documentFile } from '../support/circuits.ts';
import { commonEmitter, expectWithin, idealTailPair, opAmpLoop, pushPull, rateHz } from './support.ts';

const seed = 20261125;
const frames = 2500;
/** Peak of a sine at +24 dBu, full scale. */
const fullScale = 17.36;

const circuits: readonly (readonly [string, CircuitDocument])[] = [
  ['common emitter', commonEmitter()], ['push-pull', pushPull()], ['push-pull near class B', pushPull(50e-6)], ['op-amp loop', opAmpLoop()],
  ['op-amp loop of 16 MHz into 33 Ω', opAmpLoop(33, 6e-12)], ['pair on an ideal tail', idealTailPair()],
  ['field-effect stage', documentFile('single-ended-field-effect')], ['valve stage', documentFile('single-ended-valve')], ['push-pull with limited drive', documentFile('push-pull')],
];

const signals: readonly (readonly [string, (k: number, random: SeededRandom) => number])[] = [
  ['20 V square, 1 kHz', (k) => (k % 384 < 192 ? 20 : -20)],
  ['20 V square, 19 samples', (k) => (k % 19 < 9 ? 20 : -20)],
  ['full-scale noise at the internal rate', (_, random) => fullScale * (2 * random.nextUnit() - 1)],
  ['sine 40 dB over line level', (k) => 173.6 * Math.sin(k / 61)],
  ['noise that comes and goes by 60 dB', (k, random) => fullScale * (k % 400 < 200 ? 1 : 1e-3) * random.nextGaussian()],
];

describe.each(circuits)('%s', (_, document) => {
  const program = buildProgram(document, { rateHz });

  it.each(signals)('solves every sample of %s', (_signal, signal) => {
    for (const tolerance of [1e-4, measuringTolerance]) {
      const random = new SeededRandom(seed);
      const runner = new CircuitRunner(program, 1, tolerance);
      const wave = Float64Array.from({ length: frames }, (_entry, k) => signal(k, random));
      runner.process([wave], 0, frames);
      const { capHits, nonFinite, maximumEvaluations } = runner.report;
      expect({ capHits: capHits[0], nonFinite: nonFinite[0] }).toEqual({ capHits: 0, nonFinite: 0 });
      expect(maximumEvaluations[0]).toBeLessThan(256);
      expect(wave.every((volts) => Math.abs(volts) < 1000)).toBe(true);
    }
  });
});

/** Largest residual of the ports, in units of the smallest scale of each one's controls, after the rescue solved for `ports`. */
function residualAfterRescue(program: CircuitProgram, ports: readonly number[], tolerance: number): { converged: boolean; error: number; solver: ChannelSolver } {
  const solver = new ChannelSolver(program, createSolverReport(1), 0);
  solver.tolerance = tolerance;
  solver.startPortVolts.set(solver.portVolts);
  solver.ports.set(ports);
  const converged = new Rescue(solver).run();
  const { portCurrent, currentCount: r } = denseEquations(program);
  let error = 0;
  for (let k = 0; k < ports.length; k += 1) {
    let sum = ports[k]! - solver.portVolts[k]!;
    const first = program.topology.controlPorts.indexOf(k);
    for (let i = 0; i < r; i += 1) sum += portCurrent[first * r + i]! * solver.currents[i]!;
    error = Math.max(error, Math.abs(sum) * solver.inverseScale[k]!);
  }
  return { converged, error, solver };
}

describe('the rescue itself', () => {
  it.each(circuits.slice(0, 5))('solves far ports from rest: %s', (name, document) => {
    // 20 V across the input of an op-amp loop are kilovolts inside it: 2 V are far there, and 1e-7 of 26 mV is below the rounding of its ports.
    const [tolerance, spreadVolts] = name.startsWith('op-amp') ? [1e-4, 2] : [1e-7, 20];
    const program = buildProgram(document, { rateHz });
    const random = new SeededRandom(seed);
    for (let round = 0; round < 100; round += 1) {
      const rest = new ChannelSolver(program, createSolverReport(1), 0).portVolts;
      const ports = Array.from(rest, (volts) => volts + spreadVolts * random.nextGaussian());
      const { converged, error } = residualAfterRescue(program, ports, tolerance);
      // Newton's step is held to the tolerance; the residual is larger by I − K J, up to 1e5 with a junction fully on. Ports are hundreds of units away.
      expect(converged).toBe(true);
      expect(error).toBeLessThan(1e5 * tolerance);
    }
  });

  it.each(circuits)('is rare, although devices turn fully off: %s', (_, document) => {
    const runner = new CircuitRunner(buildProgram(document, { rateHz }), 1);
    const wave = Float64Array.from({ length: frames }, (_entry, k) => (k % 384 < 192 ? 20 : -20));
    runner.process([wave], 0, frames);
    // The elimination order must hold at every bias: with one that fits the operating point alone, every sample in cut-off came here.
    expect(runner.report.rescues[0]! / frames).toBeLessThan(0.02);
  });

  it('is heard of in the report', () => {
    const solver = new ChannelSolver(buildProgram(commonEmitter(), { rateHz }), createSolverReport(1), 0);
    solver.startPortVolts.set(solver.portVolts);
    solver.ports.set(Float64Array.from(solver.portVolts, () => NaN));
    expect(new Rescue(solver).run()).toBe(false);
    expect(solver.report.rescues[0]).toBe(1);
    expect(solver.report.capHits[0]).toBe(1);
    // The last solved point is the start of the sample.
    solver.portVolts.forEach((volts, k) => expectWithin(volts, solver.startPortVolts[k]!, 0));
  });
});
