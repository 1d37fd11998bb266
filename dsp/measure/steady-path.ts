import { solverFigures, solveSteadyState, type PeriodicInput, type SolverFigures, type SteadyState } from '../circuit/index.ts';
import type { PathPlan, PlannedStage } from '../path/index.ts';
import { steadyShaping } from '../stages/index.ts';

/** What a stage puts out in the steady state. */
export interface SteadyStage {
  readonly key: string;
  /** One period in volts at the internal rate, DC of rest removed, polarity as heard. */
  readonly output: Float64Array;
  /** Null for a stage that is not a circuit. */
  readonly steady: SteadyState | null;
  readonly solver: SolverFigures | null;
}

/** Solutions of earlier measurements by stage key: a neighbour's is the better start. */
export type SteadyMemory = Map<string, SteadyState>;

/**
 * The periodic steady state of a path, stage after stage, each fed with the whole waveform of the one before (cascade shooting; the
 * stages do not see each other but through their output networks, which are in the programs). Yields after every stage, so that a worker can
 * let go. `wave` is one period of volts at the internal rate. Ends early with `oscillates` at a stage that does not repeat itself.
 */
export function* steadyPath(
  plan: PathPlan, wave: PeriodicInput, memory?: SteadyMemory,
): Generator<SteadyStage, { readonly oscillates: SteadyStage | null; readonly output: Float64Array }> {
  let output = wave.input;
  for (const stage of plan.stages) {
    const solved = steadyStage(stage, { ...wave, input: output }, memory);
    output = solved.output;
    if (solved.steady?.oscillates) return { oscillates: solved, output };
    yield solved;
  }
  return { oscillates: null, output };
}

/** One stage on one period of input volts. */
export function steadyStage(stage: PlannedStage, wave: PeriodicInput, memory?: SteadyMemory): SteadyStage {
  const { program } = stage.wired;
  const { input } = wave;
  const sign = stage.reversed ? -1 : 1;
  if (program.kind === 'polynomial') {
    const output = steadyShaping(program, input);
    return { key: stage.key, output: output.map((volts) => sign * volts), steady: null, solver: null };
  }
  const driven = program.inputGain === 1 ? input : input.map((volts) => volts * program.inputGain);
  const before = memory?.get(stage.key);
  const steady = solveSteadyState(program.circuit, { ...wave, input: driven }, before ? { warmStart: before } : {});
  if (steady.oscillates) memory?.delete(stage.key);
  else memory?.set(stage.key, steady);
  const rest = program.circuit.restOutputVolts;
  const gain = sign * program.outputGain;
  return { key: stage.key, output: steady.output.map((volts) => (volts - rest) * gain), steady, solver: solverFigures(program.circuit, steady) };
}
