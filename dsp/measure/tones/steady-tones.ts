/** A path or one of its stages in the steady state of a drive of several tones. */
import { projectHarmonics, type SolverFigures } from '../../circuit/index.ts';
import type { PathPlan } from '../../path/index.ts';
import { togetherOf } from '../measure-path.ts';
import { stageHarmonics, steadyPath, steadyStage, type SteadyMemory, type SteadyStage } from '../steady-path.ts';
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

/**
 * Yields between stages. A stage alone (with those it is joined to) is driven with the lines of the drive as strong as they reach it and in their phases, without what the stages before add to them. Throws RangeError
 * for a stage that is not in circuit.
 */
export function* steadyTones(plan: PathPlan, drive: PeriodicDrive, scope: FigureScope, memory?: SteadyMemory): Generator<undefined, SteadyTones | TonesOscillation> {
  const target = scope.kind === 'stage' ? plan.stages.findIndex(({ members }) => members.some(({ key }) => key === scope.key)) : -1;
  if (scope.kind === 'stage' && target < 0) throw new RangeError(`stage: expected one in circuit (${plan.stages.flatMap(({ members }) => members.map(({ key }) => key)).join(', ')}), got ${scope.key}`);
  // Settling, where shooting finds no period, watches the harmonics of the lowest tone.
  const watched = Math.min(...drive.lines.map(({ cycles }) => cycles));
  const wave = driveWave(drive);
  const solved: SteadyStage[] = [];
  const steps = steadyPath(target < 0 ? plan : { ...plan, stages: plan.stages.slice(0, target) }, { input: wave, cycles: watched }, memory);
  for (let step = steps.next(); ; step = steps.next()) {
    if (step.done) {
      if (step.value.oscillates) return { oscillates: step.value.oscillates };
      break;
    }
    solved.push(step.value);
    yield undefined;
  }
  let driven = drive;
  if (target >= 0) {
    const before = solved.at(-1);
    if (before) driven = reaching(drive, before);
    const alone = steadyStage(plan.stages[target]!, { input: driveWave(driven), cycles: watched });
    if (alone.steady?.oscillates) return { oscillates: alone };
    solved.splice(0, solved.length, alone);
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
