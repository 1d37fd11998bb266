/** From a program to what runs it. */
import { CircuitStageRunner } from './circuit-stage-runner.ts';
import type { StageProgram, StageRunner } from './contract.ts';
import { HarmonicShapingRunner } from './harmonic-shaping/index.ts';

/** A runner at rest with `channels` channels. Allocates all it will ever need; not for the audio callback. */
export function createStageRunner(program: StageProgram, channels: number): StageRunner {
  switch (program.kind) {
    case 'circuit': return new CircuitStageRunner(program, channels);
    case 'polynomial': return new HarmonicShapingRunner(program, channels);
  }
}
