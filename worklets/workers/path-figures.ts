import { interfaceVerdict, noiseReadings, pathHeadroom, pathNoise, pathSupply, probeJoints, supplyReadings, supplyRemark, type ClipMemory, type JointMemory, type JointVerdict } from '../../dsp/measure/index.ts';
import { hasNoise, planPath, type PathPlan, type PlannedProgram } from '../../dsp/path/index.ts';
import type { StageReading, StageRemark } from '../../dsp/stages/index.ts';
import { knowBefore } from './live-measurement.ts';
import type { PathFiguresAnswer, PathFiguresRequest, SuppliedReadings, SupplyFigures } from '../messages.ts';

/** What was found before, so that a change of one value costs its own stage only. */
export interface PathFiguresMemory {
  readonly joints: JointMemory;
  readonly programs: Map<string, PlannedProgram>;
  readonly clips: ClipMemory;
}

/** So many entries are kept of each. */
const mostKept = 256;

export function emptyFiguresMemory(): PathFiguresMemory {
  return { joints: new Map(), programs: new Map(), clips: new Map() };
}

/** Everything about a whole path that is computed once its changes have settled, in steps, each part told as it is found. */
export function* pathFigures(request: PathFiguresRequest, memory: PathFiguresMemory, tell: (answer: PathFiguresAnswer) => void): Generator<void, void> {
  const { revision, path } = request;
  const joints = yield* finished(probeJoints(path, memory.joints));
  tell({ kind: 'probed', revision, joints });
  const plan = yield* planInSteps(request, joints, memory);
  const headroom = yield* finished(pathHeadroom(path, plan, { memory: memory.clips }));
  tell({ kind: 'headroom', revision, headroom: headroom.oscillates ? null : headroom });
  yield;
  tell({ kind: 'supplied', revision, figures: path.supply === null ? null : supplyFigures(request, plan, new Map(headroom.oscillates ? [] : headroom.stages.map(({ key, clipDbu }) => [key, clipDbu]))) });
  yield;
  tell({ kind: 'interfaced', revision, verdict: yield* interfaceOf(request, joints, memory) });
  for (const kept of [memory.joints, memory.programs, memory.clips]) forgetOldest(kept);
}

/** Asked of a stage on trial, and of the whole path where something stands round it. */
function* interfaceOf({ path, onTrial, baseRateHz }: PathFiguresRequest, joints: readonly (JointVerdict | null)[], { programs }: PathFiguresMemory): Generator<void, SuppliedReadings | null> {
  if (onTrial === null || onTrial.kind === 'without' || (onTrial.kind === 'path' && path.surroundings === null)) return null;
  const { readings, remarks } = yield* interfaceVerdict({ path, baseRateHz, of: onTrial, joints, known: programs });
  return { readings, remarks };
}

/** The stages in circuit, as figures are measured on them: without the noise that plays. */
function* planInSteps({ path, baseRateHz }: PathFiguresRequest, joints: readonly (JointVerdict | null)[], { programs }: PathFiguresMemory): Generator<void, PathPlan> {
  const options = { known: programs, joints, grade: 'measuring' } as const;
  const silent = { ...path, supply: null };
  yield* knowBefore(silent, joints, (part) => planPath(part, baseRateHz, options));
  return planPath(silent, baseRateHz, options);
}

/** Noise and what the rails carry, of each stage and of the whole path. */
function supplyFigures({ path }: PathFiguresRequest, plan: PathPlan, clips: ReadonlyMap<string, number | null>): SupplyFigures {
  const stages: Record<string, { readings: StageReading[]; remarks: StageRemark[] }> = {};
  const whole: StageReading[] = [];
  const of = (key: string) => (stages[key] ??= { readings: [], remarks: [] });
  if (hasNoise(path.supply)) {
    const noise = pathNoise(path, plan);
    for (const stage of noise.stages) {
      if (stage.noise === null) continue;
      const { readings, remarks } = noiseReadings(stage.noise, clips.get(stage.key) ?? null);
      of(stage.key).readings.push(...readings);
      of(stage.key).remarks.push(...remarks);
    }
    whole.push({ label: 'noise at the end', value: noise.outputDbu, quantity: 'level', unit: 'dBu', note: '20 Hz to 20 kHz, unweighted' });
    if (noise.inputDbu !== null) whole.push({ label: 'equivalent input noise', value: noise.inputDbu, quantity: 'level', unit: 'dBu', note: 'of the whole path, by its gain at 1 kHz' });
  }
  const supply = pathSupply(path, plan);
  for (const stage of supply.stages) of(stage.key).readings.push(...supplyReadings(stage));
  if (supply.rippleDbu !== null) whole.push({ label: 'ripple at the end', value: supply.rippleDbu, quantity: 'level', unit: 'dBu' });
  const remarks: StageRemark[] = supply.couplings.slice(0, 3).map(({ from, to, db }) => ({ label: 'through the rails', words: `${from} in ${to}: ${db[1]!.toFixed(0).replace('-', '−')} dB at 1 kHz` }));
  return { stages, path: { readings: whole, remarks: [...remarks, supplyRemark] } };
}

/** The result of a job whose steps say nothing. */
function* finished<Result>(job: Generator<unknown, Result>): Generator<void, Result> {
  let step = job.next();
  while (!step.done) {
    yield;
    step = job.next();
  }
  return step.value;
}

function forgetOldest(kept: Map<string, unknown>): void {
  for (const oldest of kept.keys()) {
    if (kept.size <= mostKept) break;
    kept.delete(oldest);
  }
}
