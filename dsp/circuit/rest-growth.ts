/** Whether a circuit stays at its operating point when left alone. Off the audio thread. */
import { exp, log } from '../math/index.ts';
import { linearStepOf } from './discrete-response.ts';
import type { CircuitProgram } from './program.ts';
import { growingRadius, spectralRadius } from './spectral-radius.ts';

/** The largest growth told: beyond it the number says no more than that the circuit runs away. */
export const largestRadius = 1e15;

/**
 * Factor by which the fastest growing mode of the operating point grows over `samples` samples of the program; 1 if none grows. Above 1 the circuit oscillates or tips over of itself, whatever
 * drives it: a limit cycle may look periodic where the drive pulls it along, and a bistable pair where it has tipped over.
 */
export function growthAtRest(program: CircuitProgram, samples: number): number {
  const { stateCount } = program.topology;
  if (stateCount === 0) return 1;
  const radius = spectralRadius(memoryAtRest(program), stateCount);
  if (!(radius > growingRadius)) return 1;
  return Math.min(largestRadius, exp(samples * program.instances[0]!.subSteps * log(radius)));
}

function memoryAtRest(program: CircuitProgram): Float64Array {
  try {
    return linearStepOf(program).memory;
  } catch (error) {
    // An operating point without a linear response says nothing about growth.
    if (!(error instanceof RangeError)) throw error;
    return new Float64Array(program.topology.stateCount * program.topology.stateCount);
  }
}
