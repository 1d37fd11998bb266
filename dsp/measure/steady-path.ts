import {
  projectHarmonics, solverFigures, solveSteadyStateInSteps, steadyHarmonics, type HarmonicProjection, type PeriodicInput, type SolverFigures, type SteadyState,
} from '../circuit/index.ts';
import type { PathPlan, PlannedStage } from '../path/index.ts';
import { steadyLinear, steadyShaping } from '../stages/index.ts';

/** What a stage puts out in the steady state. */
export interface SteadyStage {
  readonly key: string;
  /** One period in volts at the internal rate, DC of rest removed, polarity as heard. */
  readonly output: Float64Array;
  /** Null for a stage that is not a circuit. */
  readonly steady: SteadyState | null;
  /** What makes `output` of the circuit's volts: (volts − restVolts) × gain. */
  readonly restVolts: number;
  readonly gain: number;
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

/** One stage on one period of input volts, at once. */
export function steadyStage(stage: PlannedStage, wave: PeriodicInput, memory?: SteadyMemory): SteadyStage {
  const steps = steadyStageInSteps(stage, wave, memory);
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

/** The same, yielding between passes over the period. Without `wantSpectralRadius` only what oscillates at rest or finds no period is told from what repeats itself. */
export function* steadyStageInSteps(stage: PlannedStage, wave: PeriodicInput, memory?: SteadyMemory, wantSpectralRadius = true): Generator<void, SteadyStage> {
  const { program } = stage.wired;
  const { input } = wave;
  const sign = stage.reversed ? -1 : 1;
  if (program.kind !== 'circuit') {
    const output = program.kind === 'linear' ? steadyLinear(program, input) : steadyShaping(program, input);
    return { key: stage.key, output: output.map((volts) => sign * volts), steady: null, restVolts: 0, gain: sign, solver: null };
  }
  const driven = program.inputGain === 1 ? input : input.map((volts) => volts * program.inputGain);
  const before = memory?.get(stage.key);
  const steady = yield* solveSteadyStateInSteps(program.circuit, { ...wave, input: driven }, { wantSpectralRadius, ...(before ? { warmStart: before } : {}) });
  if (steady.oscillates) memory?.delete(stage.key);
  else memory?.set(stage.key, steady);
  const restVolts = program.circuit.restOutputVolts;
  const gain = sign * program.outputGain;
  return { key: stage.key, output: steady.output.map((volts) => (volts - restVolts) * gain), steady, restVolts, gain, solver: solverFigures(program.circuit, steady) };
}

/** Mean and harmonics of what a stage puts out; a circuit's from all steps of its rule. Phases are relative to a cosine at the source. */
export function stageHarmonics({ output, steady, restVolts, gain }: SteadyStage, cycles: number, orders: readonly number[]): HarmonicProjection {
  if (steady === null) return projectHarmonics(output, cycles, orders);
  const { dcVolts, amplitudes, phases } = steadyHarmonics(steady, cycles, orders);
  return {
    dcVolts: (dcVolts - restVolts) * gain,
    amplitudes: amplitudes.map((volts) => volts * Math.abs(gain)),
    phases: gain < 0 ? phases.map((phase) => (phase > 0 ? phase - Math.PI : phase + Math.PI)) : phases,
  };
}
