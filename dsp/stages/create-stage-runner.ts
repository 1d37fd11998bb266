/** From a program to what runs it. */
import { CircuitStageRunner } from './circuit-stage-runner.ts';
import type { SolverTolerance, StageHome, StageProgram, StageRunner } from './contract.ts';
import { LinearRunner } from './equaliser/index.ts';
import { HarmonicShapingRunner } from './harmonic-shaping/index.ts';

/**
 * A runner at rest with `channels` channels; `tolerance` is where its solver stops, `home` where compiled code and its numbers live (null: readable loops; the same bits).
 * Allocates all it will ever need; not for the audio callback. Throws a RangeError where the home's arena has no room for it.
 */
export function createStageRunner(
  program: StageProgram, channels: number, tolerance: SolverTolerance = 'listening', home: StageHome | null = null,
): StageRunner {
  switch (program.kind) {
    case 'circuit': return new CircuitStageRunner(program, channels, tolerance, home);
    case 'polynomial': return new HarmonicShapingRunner(program, channels, home);
    case 'linear': return new LinearRunner(program, channels, home);
  }
}

/**
 * Bytes of a home's arena that a runner of the program takes; with 'dearest rule', as many as its stage takes under any integration rule. The same for every value that does not
 * change what is wired.
 */
export function stageRunnerBytes(program: StageProgram, channels: number, extent: 'itself' | 'dearest rule' = 'itself'): number {
  switch (program.kind) {
    case 'circuit': return CircuitStageRunner.bytes(program, channels, extent);
    case 'polynomial': return HarmonicShapingRunner.bytes(program, channels);
    case 'linear': return LinearRunner.bytes(program, channels, extent);
  }
}
