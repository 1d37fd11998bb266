/** Chooses the back end of an instance. */
import { kernelInstanceBytes, KernelInstance } from './emit/kernel-instance.ts';
import type { InstanceHome } from './instance-home.ts';
import type { InstanceRunner } from './instance-runner.ts';
import { LoopInstance } from './loop-instance.ts';
import type { CircuitProgram } from './program.ts';

export type { InstanceHome } from './instance-home.ts';

/**
 * Instance `instanceIndex` of `program` for so many channels; compiled where there is a `home` that has code and room for it, else the readable loop:
 * the same bits either way. `tolerance`: `listeningTolerance` or `measuringTolerance`. Not for the audio callback.
 */
export function createInstance(program: CircuitProgram, instanceIndex: number, channels: number, tolerance: number, home: InstanceHome | null): InstanceRunner {
  const compiled = home === null ? null : KernelInstance.create(program, instanceIndex, channels, tolerance, home);
  return compiled ?? new LoopInstance(program, instanceIndex, channels, tolerance);
}

/** Bytes of an arena that one compiled instance of `program` needs. */
export function instanceBytes(program: CircuitProgram): number {
  return kernelInstanceBytes(program);
}
