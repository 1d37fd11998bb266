import { chooseFrequency, cosineDrive, figuresOfProjection, projectHarmonics, type HarmonicFigures, type IntegrationRule, type SolverFigures } from '../circuit/index.ts';
import type { PathPlan } from '../path/index.ts';
import { dbuToPeakVolts, peakVoltsToDbu } from '../stages/index.ts';
import { stageHarmonics, steadyPath, steadyStage, type SteadyMemory, type SteadyStage } from './steady-path.ts';
import { weightedByHalfOrder, weightedByOrderSquared } from './weighting.ts';

/** Orders the bench shows. */
export const shownOrders: readonly number[] = [2, 3, 4, 5, 6, 7, 8, 9, 10];

/** Cheapest first. */
const rules: readonly IntegrationRule[] = ['T1', 'S1', 'S2', 'T12', 'S4', 'T24'];

/** Below this nothing is shown: rounding of the projection, and what the solver leaves, lie under it. */
export const floorDb = -160;

export interface PathProbe {
  readonly frequencyHz: number;
  /** At the source, a cosine. */
  readonly peakVolts: number;
  /** The whole path; or one stage alone with those it is joined to, driven by a pure cosine as strong as the fundamental that reaches it in the path. */
  readonly scope: { readonly kind: 'path' } | { readonly kind: 'stage'; readonly key: string };
  /** From 2 on; `shownOrders` if absent. */
  readonly orders?: readonly number[];
}

/** The probe of a level in dBu. */
export function probePeakVolts(levelDbu: number): number {
  return dbuToPeakVolts(levelDbu);
}

/** Level of the fundamental behind a stage, or behind a part of the surroundings (`surroundingsKeys`); behind stages that are joined it is the last one's. */
export interface JointLevel {
  readonly key: string;
  readonly levelDbu: number;
}

export interface PathHarmonics extends HarmonicFigures {
  readonly oscillates?: undefined;
  /** The frequency in fact used. */
  readonly frequencyHz: number;
  /** Output at rest: path and stages are free of it. */
  readonly restVolts: 0;
  readonly fundamentalDbu: number;
  /** Ratios: n/2 and n²/4. */
  readonly weighted: { readonly halfOrder: number; readonly orderSquared: number };
  readonly joints: readonly JointLevel[];
  /** Of all circuit stages together: the dearest rule, the largest radius and estimated error, the mean of evaluations, the sum of caps. */
  readonly solver: SolverFigures;
}

/** Not harmonics: a stage oscillates or is bistable. */
export interface PathOscillation {
  readonly oscillates: true;
  readonly spectralRadius: number;
  readonly stageKey: string;
}

export type PathMeasurement = PathHarmonics | PathOscillation;

/** All steps at once. Throws RangeError for a frequency or stage that is none. */
export function measurePath(plan: PathPlan, probe: PathProbe, memory?: SteadyMemory): PathMeasurement {
  const steps = measurePathInSteps(plan, probe, memory);
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

/**
 * Harmonics of a path in volts at the internal rate, without the ladder, by steady state. Yields between stages: a caller that has something
 * newer to measure stops there. `memory` holds solutions from one measurement to the next.
 */
export function* measurePathInSteps(plan: PathPlan, probe: PathProbe, memory?: SteadyMemory): Generator<void, PathMeasurement> {
  const { scope } = probe;
  const target = scope.kind === 'stage' ? plan.stages.findIndex(({ members }) => members.some(({ key }) => key === scope.key)) : -1;
  if (scope.kind === 'stage' && target < 0) throw new RangeError(`stage: expected one in circuit (${plan.stages.flatMap(({ members }) => members.map(({ key }) => key)).join(', ')}), got ${scope.key}`);
  const frequency = chooseFrequency(probe.frequencyHz, plan.baseRateHz * plan.oversamplingFactor);
  const joints: JointLevel[] = [];
  const solved: SteadyStage[] = [];
  const wave = cosineDrive(frequency, probe.peakVolts);
  const steps = steadyPath(scope.kind === 'stage' ? { ...plan, stages: plan.stages.slice(0, target) } : plan, { input: wave, cycles: frequency.cycles }, memory);
  let reachingPeakVolts = probe.peakVolts;
  for (;;) {
    const step = steps.next();
    if (step.done) {
      const { oscillates } = step.value;
      if (oscillates) return oscillation(oscillates);
      break;
    }
    solved.push(step.value);
    reachingPeakVolts = stageHarmonics(step.value, frequency.cycles, [1]).amplitudes[0]!;
    joints.push({ key: step.value.key, levelDbu: peakVoltsToDbu(reachingPeakVolts) });
    yield;
  }
  if (target >= 0) {
    const alone = steadyStage(plan.stages[target]!, { input: cosineDrive(frequency, reachingPeakVolts), cycles: frequency.cycles }, undefined);
    if (alone.steady?.oscillates) return oscillation(alone);
    solved.splice(0, solved.length, alone);
  }
  const { orders = shownOrders } = probe;
  const last = solved.at(-1);
  const projected = [1, ...orders];
  const figures = figuresOfProjection(last ? stageHarmonics(last, frequency.cycles, projected) : projectHarmonics(wave, frequency.cycles, projected), orders);
  return {
    frequencyHz: frequency.hz,
    ...figures,
    restVolts: 0,
    fundamentalDbu: peakVoltsToDbu(figures.fundamental.peakVolts),
    weighted: { halfOrder: weightedByHalfOrder(figures.harmonics), orderSquared: weightedByOrderSquared(figures.harmonics) },
    joints,
    solver: togetherOf(solved),
  };
}

function oscillation({ key, steady }: SteadyStage): PathOscillation {
  return { oscillates: true, spectralRadius: steady!.spectralRadius, stageKey: key };
}

/** Of all circuit stages together. */
export function togetherOf(solved: readonly SteadyStage[]): SolverFigures {
  const figures = solved.flatMap(({ solver }) => (solver ? [solver] : []));
  const largest = (values: readonly number[]): number => values.reduce((most, value) => Math.max(most, value), 0);
  const chosen = figures.filter(({ ruleErrorDb }) => ruleErrorDb !== undefined);
  return {
    method: figures.some(({ method }) => method === 'settling') ? 'settling' : 'shooting',
    rule: rules[largest(figures.map(({ rule }) => rules.indexOf(rule)))]!,
    spectralRadius: largest(figures.map(({ spectralRadius }) => spectralRadius)),
    meanIterations: figures.length === 0 ? 0 : figures.reduce((sum, { meanIterations }) => sum + meanIterations, 0) / figures.length,
    capHits: figures.reduce((sum, { capHits }) => sum + capHits, 0),
    ...(chosen.length > 0 && { ruleErrorDb: largest(chosen.map(({ ruleErrorDb }) => ruleErrorDb!)), ruleLimitDb: chosen[0]!.ruleLimitDb! }),
  };
}
