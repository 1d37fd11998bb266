import {
  floorDb, markUnderNoise, measurePathInSteps, probePeakVolts, type MarkedHarmonic, type PathHarmonics, type PathOscillation, type SteadyMemory,
} from '../../dsp/measure/index.ts';
import { planPath, type PathPlan, type PathSetting, type PlannedProgram, type PlanOptions } from '../../dsp/path/index.ts';
import { stageById, type StageReport } from '../../dsp/stages/index.ts';
import type { MeasureRequest, MeasurerAnswer } from '../messages.ts';

type Measured = Extract<MeasurerAnswer, { kind: 'measured' }>;

/** The stages in circuit alone, at the grade of figures, without the noise that plays. */
function* planToMeasure({ path: played, joints, baseRateHz }: MeasureRequest, known: Map<string, PlannedProgram>): Generator<void, PathPlan> {
  const path = { ...played, supply: null };
  const options = { known, joints, grade: 'measuring' } as const;
  yield* knowBefore(path, joints, (part) => planPath(part, baseRateHz, options));
  return planPath(path, baseRateHz, options);
}

/**
 * Plans a path stage by stage beforehand, since each has its rule to choose: a step each. Left out is what the whole path would make otherwise: where a joint would be cut, and
 * every part of a path with surroundings, whose last stage carries the load.
 */
export function* knowBefore(path: PathSetting, joints: PlanOptions['joints'], plan: (part: PathSetting) => void): Generator<void, void> {
  if (path.surroundings !== null) return;
  for (let count = 1; count < path.stages.length; count += 1) {
    if (path.stages[count]!.joined || joints?.[count]?.joined) continue;
    plan({ ...path, stages: path.stages.slice(0, count) });
    yield;
  }
}

/** The harmonics a request asks for, in steps. */
export function* measureRequest(request: MeasureRequest, known: Map<string, PlannedProgram>, memory: SteadyMemory): Generator<void, Measured> {
  const { probe, scope, openStageKey } = request;
  const plan = yield* planToMeasure(request, known);
  const index = request.path.stages.findIndex(({ key }) => key === openStageKey);
  if (scope === 'stage' && index < 0) return refusal(request, 'No stage is open: open one to measure it at its working level.');
  if (scope === 'stage' && !plan.stages.some(({ members }) => members.some(({ key }) => key === openStageKey))) {
    return refusal(request, `Stage ${index + 1} is out of circuit: switch it in to measure it at its working level.`);
  }
  const measurement = yield* measurePathInSteps(plan, {
    frequencyHz: probe.frequencyHz,
    peakVolts: probePeakVolts(probe.levelDbu),
    scope: scope === 'path' ? { kind: 'path' } : { kind: 'stage', key: openStageKey },
  }, memory);
  return measured(request, measurement.oscillates || scope === 'stage' ? measurement : markUnderNoise(measurement, request.path, plan));
}

/** An answer without figures, with the reason in one sentence. */
export function refusal(request: MeasureRequest, sentence: string): Measured {
  const { revision, scope, probe } = request;
  return {
    kind: 'measured', revision, scope, frequencyHz: probe.frequencyHz, levelDbu: probe.levelDbu, fundamentalDbu: -Infinity,
    thdPercentF: NaN, weightedPercent: NaN, figures: [], refusal: sentence,
  };
}

function measured(request: MeasureRequest, measurement: PathOscillation | (Omit<PathHarmonics, 'harmonics'> & { readonly harmonics: readonly MarkedHarmonic[] })): Measured {
  const { revision, scope, probe } = request;
  if (measurement.oscillates) {
    const index = request.path.stages.findIndex(({ key }) => key === measurement.stageKey);
    return refusal(request, `Stage ${index + 1} oscillates or is bistable (spectral radius ${measurement.spectralRadius.toFixed(4)}): it has no harmonics.`);
  }
  return {
    kind: 'measured', revision, scope, frequencyHz: measurement.frequencyHz, levelDbu: probe.levelDbu,
    fundamentalDbu: measurement.fundamentalDbu,
    thdPercentF: 100 * measurement.thd.f,
    weightedPercent: 100 * measurement.weighted.orderSquared,
    figures: measurement.harmonics.map(({ order, db, signedRatio, phaseDegrees, underNoise }) => ({
      order, db: db < floorDb ? -Infinity : db, signedRatio, phaseDegrees, ...(underNoise ? { underNoise } : {}),
    })),
    refusal: null,
  };
}

/** Frequency and level at which the joints of the path strip are stated. */
const jointProbe = { frequencyHz: 1000, levelDbu: 4 };

/** Reports made before, by the identity of the stage's program. */
export type ReportMemory = Map<string, StageReport>;

/**
 * Readings of every stage, in circuit or out, and the levels between them, in steps. Clip levels take longest: without `withClipLevels` only those
 * that are known are told.
 */
export function* reportRequest(
  request: MeasureRequest, known: Map<string, PlannedProgram>, memory: ReportMemory, withClipLevels: boolean,
): Generator<void, Extract<MeasurerAnswer, { kind: 'reported' }>> {
  const plan = yield* planToMeasure(request, known);
  const reports: Record<string, StageReport> = {};
  const rateHz = request.baseRateHz * request.path.oversamplingFactor;
  for (const stage of request.path.stages) {
    const definition = stageById(stage.stage);
    // One that is joined to others has no program of its own; names and voltages of one joined to the load alone are its own.
    const planned = plan.stages.find(({ key, members }) => key === stage.key && members.length === 1)?.wired;
    const identity = planned?.identity ?? JSON.stringify([stage.stage, rateHz, stage.values]);
    let report = memory.get(identity);
    if (!report || (withClipLevels && report.clipOutputDbu === undefined)) {
      const program = planned?.program ?? definition.program(stage.values, { rateHz, source: null });
      report ??= definition.report(stage.values, program);
      yield;
      if (withClipLevels) report = { ...report, clipOutputDbu: definition.clipOutputDbu(stage.values, program) };
      memory.set(identity, report);
      yield;
    }
    reports[stage.key] = report;
  }
  const levels = yield* measurePathInSteps(plan, {
    frequencyHz: jointProbe.frequencyHz, peakVolts: probePeakVolts(jointProbe.levelDbu), scope: { kind: 'path' }, orders: [],
  });
  const jointLevelsDbu = levels.oscillates ? {} : Object.fromEntries(levels.joints.map(({ key, levelDbu }) => [key, levelDbu]));
  return { kind: 'reported', revision: request.revision, reports, jointLevelsDbu };
}
