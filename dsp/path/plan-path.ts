import type { Grade, IntegrationRule } from '../circuit/index.ts';
import { dbuToPeakVolts, stageById, type OutputNetwork, type StageContext, type StageDefinition } from '../stages/index.ts';
import type { OnTrial, PathSetting, PathStage } from './contract.ts';
import type { PathPlan, PlannedProgram, PlannedStage } from './plan.ts';

/** A path that cannot be built: the sentence names the stage by its place and title. */
export class PathError extends Error {
  override readonly name = 'PathError';
  /** Key of the stage at fault; empty when it is the path itself. */
  readonly stageKey: string;
  constructor(stageKey: string, sentence: string) {
    super(sentence);
    this.stageKey = stageKey;
  }
}

export interface PlanOptions {
  /** What is compared in and out; the whole path if absent. */
  readonly onTrial?: OnTrial;
  /** Programs made before, by identity: those that are still wanted are used again, new ones are added. */
  readonly known?: Map<string, PlannedProgram>;
  /** How exactly the circuits are followed, in their integration rules and their solvers alike; 'listening' if absent. */
  readonly grade?: Grade;
  /** One integration rule for every circuit instead of the grade's choice. */
  readonly rule?: IntegrationRule;
}

/**
 * Builds every program a path needs, each wired to the output network of the running stage before it. A stage on trial is always built, in
 * circuit or not. Off the audio thread; throws PathError.
 */
export function planPath(setting: PathSetting, baseRateHz: number, options: PlanOptions = {}): PathPlan {
  const onTrial = options.onTrial ?? { kind: 'path' };
  const trialKey = onTrial.kind === 'stage' ? onTrial.key : null;
  if (trialKey !== null && !setting.stages.some(({ key }) => key === trialKey)) {
    throw new PathError('', `on trial: expected one of the path's stages (${setting.stages.map(({ key }) => key).join(', ')}), got ${trialKey}`);
  }
  const { grade = 'listening', rule = grade, known } = options;
  const rateHz = baseRateHz * setting.oversamplingFactor;
  const planned = (definition: StageDefinition, stage: PathStage, index: number, source: OutputNetwork | null): PlannedProgram =>
    plannedProgram(definition, stage, index, { rateHz, source, rule }, known);
  const stages: PlannedStage[] = [];
  let source: OutputNetwork | null = null;
  let sourceWithoutTrial: OutputNetwork | null = null;
  let followsTrial = false;
  let pathPolarity: 1 | -1 = 1;
  let trialPolarity: 1 | -1 = 1;
  setting.stages.forEach((stage, index) => {
    const isOnTrial = stage.key === trialKey;
    if (!stage.inCircuit && !isOnTrial) return;
    const definition = definitionOf(stage, index);
    const wired = planned(definition, stage, index, source);
    const wiredWithoutTrial = followsTrial && wired.program.kind === 'circuit'
      ? planned(definition, stage, index, sourceWithoutTrial) : null;
    const polarity = definition.inverts !== stage.reversed ? -1 : 1;
    stages.push({ key: stage.key, stage: stage.stage, index, reversed: stage.reversed, polarity, onTrial: isOnTrial, wired, wiredWithoutTrial });
    if (polarity < 0) pathPolarity = pathPolarity === 1 ? -1 : 1;
    if (isOnTrial) {
      trialPolarity = polarity;
      sourceWithoutTrial = source;
    }
    followsTrial = isOnTrial;
    source = definition.outputNetwork(stage.values);
  });
  return {
    grade, baseRateHz, oversamplingFactor: setting.oversamplingFactor, ladder: setting.ladder, samplePeakVolts: dbuToPeakVolts(setting.fullScaleDbu),
    stages, onTrial, trialPolarity: trialKey === null ? pathPolarity : trialPolarity,
  };
}

function definitionOf(stage: PathStage, index: number): StageDefinition {
  try {
    return stageById(stage.stage);
  } catch (error) {
    throw new PathError(stage.key, `stage ${index + 1}: ${sentence(error)}`);
  }
}

function plannedProgram(
  definition: StageDefinition, stage: PathStage, index: number, context: Required<StageContext>, known?: Map<string, PlannedProgram>,
): PlannedProgram {
  const values = definition.parameters.map(({ id }) => stage.values[id]);
  const identity = JSON.stringify([definition.id, context.rateHz, values, context.source, context.rule]);
  const before = known?.get(identity);
  if (before) return before;
  const refused = definition.refuse(stage.values);
  if (refused !== null) throw new PathError(stage.key, `stage ${index + 1}, ${definition.title}: ${refused}`);
  let planned: PlannedProgram;
  try {
    planned = { identity, program: definition.program(stage.values, context) };
  } catch (error) {
    throw new PathError(stage.key, `stage ${index + 1}, ${definition.title}: ${sentence(error)}`);
  }
  known?.set(identity, planned);
  return planned;
}

function sentence(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
