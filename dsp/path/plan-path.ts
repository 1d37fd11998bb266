import type { CircuitDocument, Grade, IntegrationRule } from '../circuit/index.ts';
import { dbuToPeakVolts } from '../stages/index.ts';
import type { OnTrial, PathSetting } from './contract.ts';
import { withNoise } from './noise-plan.ts';
import { PathError } from './path-error.ts';
import type { PathPlan, PlannedProgram, PlannedStage, PlannedTrial } from './plan.ts';
import { planDirect, planStages, polarityOf, surroundingsKeys, type StagesNeeds } from './plan-stages.ts';
import { pathMechanisms, type TakenAway } from './path-mechanisms.ts';
import { planTrial, planWithout } from './plan-trial.ts';
import { circuitOf, entryOf, type PathEntry } from './stage-programs.ts';
import { directCircuit, loadCircuit, sourceCircuit } from './surroundings/circuits.ts';
import { humOf } from './surroundings/hum.ts';

export interface PlanOptions {
  /** What is compared in and out; the whole path if absent. */
  readonly onTrial?: OnTrial;
  /** Programs made before, by identity: those that are still wanted are used again, new ones are added. */
  readonly known?: Map<string, PlannedProgram>;
  /** How exactly the circuits are followed, in their integration rules and their solvers alike; 'listening' if absent. */
  readonly grade?: Grade;
  /** One integration rule for every circuit instead of the grade's choice. */
  readonly rule?: IntegrationRule;
  /** Verdicts of the loading probe on the joint before each stage: they join as a stage's own request does. None if absent. */
  readonly joints?: readonly ({ readonly joined: boolean } | null)[] | null;
}

/**
 * Builds every program a path needs, each wired to the output network of what runs before it; stages that are joined have one program together. A stage
 * on trial is always built, in circuit or not. Off the audio thread; throws PathError.
 */
export function planPath(setting: PathSetting, baseRateHz: number, options: PlanOptions = {}): PathPlan {
  const { onTrial = { kind: 'path' }, grade = 'listening', rule = grade, known, joints } = options;
  const { stages, surroundings, oversamplingFactor } = setting;
  const trialKey = onTrial.kind === 'stage' ? onTrial.key : null;
  if (onTrial.kind !== 'path' && !stages.some(({ key }) => key === onTrial.key)) {
    throw new PathError('', `on trial: expected one of the path's stages (${stages.map(({ key }) => key).join(', ')}), got ${onTrial.key}`);
  }
  const entries = stages.flatMap((stage, index) => (stage.inCircuit || stage.key === trialKey ? [entryOf(stage, index)] : []));
  const needs: StagesNeeds = {
    rateHz: baseRateHz * oversamplingFactor, rule, known: known ?? new Map(), surroundings, trialKey,
    joins: ({ stage, index }) => stage.joined || joints?.[index]?.joined === true,
  };
  const planned = planStages(entries, needs);
  const pathPolarity = entries.reduce((sign, entry) => sign * polarityOf(entry), 1) < 0 ? -1 : 1;
  const trialEntry = entries.find(({ stage }) => stage.key === trialKey);
  const plan: PathPlan = {
    grade, baseRateHz, oversamplingFactor, ladder: setting.ladder, samplePeakVolts: dbuToPeakVolts(setting.fullScaleDbu),
    stages: planned.stages, onTrial,
    trial: trialEntry ? planTrial(planned.stages, entries, trialEntry, needs) : onTrial.kind === 'without' ? trialOfMechanism(setting, planned.stages, entries, needs, onTrial) : null,
    direct: surroundings !== null && onTrial.kind === 'path' ? planDirect(surroundings, needs) : null,
    hum: surroundings === null ? null : humOf(surroundings),
    trialPolarity: trialEntry ? polarityOf(trialEntry) : onTrial.kind === 'without' ? 1 : pathPolarity,
    refusedJoints: planned.refusedJoints,
  };
  return withNoise(plan, setting.supply, (stage) => plannedCircuit(setting, stage));
}

/** Null where the path has no such mechanism: both ways are then the path as it is. */
function trialOfMechanism(
  setting: PathSetting, stages: readonly PlannedStage[], entries: readonly PathEntry[], needs: StagesNeeds, { key, mechanism }: { readonly key: string; readonly mechanism: string },
): PlannedTrial | null {
  const found = pathMechanisms(setting).find((one) => one.key === key && one.mechanism.id === mechanism);
  return found ? planWithout(stages, entries, needs, { key, removal: found.mechanism.removal }) : null;
}

/**
 * The path without one mechanism, from a plan made of it before: what runs otherwise. Null where nothing does. Off the audio thread; throws PathError.
 */
export function planWithoutMechanism({ stages, surroundings }: PathSetting, plan: PathPlan, taken: TakenAway): PlannedTrial | null {
  const entries = stages.flatMap((stage, index) => (stage.inCircuit ? [entryOf(stage, index)] : []));
  const joined = new Set(plan.stages.flatMap(({ members }) => members.slice(1).map(({ key }) => key)));
  const needs: StagesNeeds = {
    rateHz: plan.baseRateHz * plan.oversamplingFactor, rule: plan.grade, known: new Map(plan.stages.map(({ wired }) => [wired.identity, wired])), surroundings, trialKey: null,
    joins: ({ stage }) => joined.has(stage.key),
  };
  return planWithout(plan.stages, entries, needs, taken);
}

/** The circuit that a planned stage of this path runs, before anything is taken away; null for one that is no circuit. */
export function plannedCircuit({ stages, surroundings }: PathSetting, planned: PlannedStage): CircuitDocument | null {
  if (planned.members.length > 0) {
    const entries = planned.members.map(({ index, reversed }): PathEntry => entryOf({ ...stages[index]!, reversed }, index));
    return circuitOf({ entries, source: planned.source, load: planned.loaded ? loadCircuit(surroundings!, null) : null });
  }
  if (surroundings === null) throw new RangeError(`${planned.key}: expected a path with surroundings, got none`);
  switch (planned.key) {
    case surroundingsKeys.source: return sourceCircuit(surroundings);
    case surroundingsKeys.load: return loadCircuit(surroundings, planned.source!);
    default: return directCircuit(surroundings);
  }
}
