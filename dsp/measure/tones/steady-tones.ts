/** A path or one of its stages in the steady state of a drive of several tones. */
import { projectHarmonics, type SolverFigures } from '../../circuit/index.ts';
import type { PathPlan } from '../../path/index.ts';
import { togetherOf } from '../measure-path.ts';
import { stageHarmonics, steadyStageInSteps, type SteadyStage } from '../steady-path.ts';
import { binOf, type LineReader } from './line-reader.ts';
import { driveWave, type PeriodicDrive } from './periodic-drive.ts';

export interface SteadyTones {
  readonly oscillates?: undefined;
  /** One period at the output in volts at the internal rate, free of its rest. */
  readonly output: Float64Array;
  /** Its lines, from all steps of the last circuit's rule. */
  readonly lines: LineReader;
  /** What drives the scope: of a stage alone the lines that reach it, clean of products. */
  readonly drive: PeriodicDrive;
  readonly solver: SolverFigures;
}

/** Not tones: this stage does not repeat itself. */
export interface TonesOscillation {
  readonly oscillates: SteadyStage;
}

export type FigureScope = { readonly kind: 'path' } | { readonly kind: 'stage'; readonly key: string };

export interface SteadyTonesOptions {
  /** Default true. Of a long period it costs as much again; without it a stage that oscillates only while driven may pass for one that repeats itself. */
  readonly wantSpectralRadius?: boolean;
}

/**
 * Yields between passes over the period. A stage alone (with those it is joined to) is driven with the lines of the drive as strong as they reach it and in their phases, without what the stages before add to them. Throws
 * RangeError for a stage that is not in circuit.
 */
export function* steadyTones(plan: PathPlan, drive: PeriodicDrive, scope: FigureScope, { wantSpectralRadius = true }: SteadyTonesOptions = {}): Generator<undefined, SteadyTones | TonesOscillation> {
  const target = scope.kind === 'stage' ? plan.stages.findIndex(({ members }) => members.some(({ key }) => key === scope.key)) : -1;
  if (scope.kind === 'stage' && target < 0) throw new RangeError(`stage: expected one in circuit (${plan.stages.flatMap(({ members }) => members.map(({ key }) => key)).join(', ')}), got ${scope.key}`);
  // Settling, where shooting finds no period, watches the harmonics of the lowest tone.
  const cycles = Math.min(...drive.lines.map((line) => line.cycles));
  const wave = driveWave(drive);
  let driven = drive;
  let input = wave;
  let solved: SteadyStage[] = [];
  for (const [index, stage] of plan.stages.entries()) {
    if (target >= 0 && index > target) break;
    if (index === target) {
      const before = solved.at(-1);
      if (before) driven = reaching(drive, before);
      input = driveWave(driven);
      solved = [];
    }
    const steps = steadyStageInSteps(stage, { input, cycles }, undefined, wantSpectralRadius);
    let step = steps.next();
    while (!step.done) {
      yield undefined;
      step = steps.next();
    }
    if (step.value.steady?.oscillates) return { oscillates: step.value };
    solved.push(step.value);
    input = step.value.output;
    yield undefined;
  }
  const last = solved.at(-1);
  const output = last?.output ?? wave;
  const spacingHz = drive.rateHz / drive.frames;
  return {
    output, drive: driven, solver: togetherOf(solved),
    lines: {
      apartHz: spacingHz,
      at: (hertz) => {
        const bins = hertz.map((hz) => binOf(hz, spacingHz));
        return last ? stageHarmonics(last, 1, bins) : projectHarmonics(wave, 1, bins);
      },
    },
  };
}

function reaching(drive: PeriodicDrive, before: SteadyStage): PeriodicDrive {
  const { amplitudes, phases } = stageHarmonics(before, 1, drive.lines.map(({ cycles }) => cycles));
  return { ...drive, lines: drive.lines.map(({ cycles }, k) => ({ cycles, peakVolts: amplitudes[k]!, phaseRadians: phases[k]! })) };
}
