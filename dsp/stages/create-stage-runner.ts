/** From a program to what runs it. */
import { CircuitStageRunner } from './circuit-stage-runner.ts';
import type { SolverTolerance, StageProgram, StageRunner } from './contract.ts';
import { HarmonicShapingRunner } from './harmonic-shaping/index.ts';

/** A runner at rest with `channels` channels; `tolerance` is where its solver stops. Allocates all it will ever need; not for the audio callback. */
export function createStageRunner(program: StageProgram, channels: number, tolerance: SolverTolerance = 'listening'): StageRunner {
  switch (program.kind) {
    case 'circuit': return new CircuitStageRunner(program, channels, tolerance);
    case 'polynomial': return new HarmonicShapingRunner(program, channels);
  }
}
