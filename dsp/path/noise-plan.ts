/** Noise and ripple of a planned path: what each of its stages adds to what it puts out. Off the audio thread. */
import { chooseFrequency } from '../circuit/index.ts';
import type { CircuitDocument, RailResponse } from '../circuit/index.ts';
import { cos, sin } from '../math/index.ts';
import type { StageProgram, StageValues } from '../stages/index.ts';
import { analyseNoise, analyseRails, ownDensity } from './noise-analysis.ts';
import { fitFrequencies, fitNoiseShape } from './noise-fit.ts';
import type { NoiseShape } from './noise-shape.ts';
import { hasNoise, hasRipple, rippleAtOutput, rippleHertz, rippleOrders, sharedRails } from './noise-supply.ts';
import type { PathPlan, PlannedStage } from './plan.ts';

type CircuitOf = (planned: PlannedStage) => CircuitDocument | null;

/** What was found of a program before: nothing but the program and these numbers decide it, so that a value that is turned costs only its own stage. */
const foundShapes = new WeakMap<StageProgram, { readonly temperatureC: number; readonly baseRateHz: number; readonly shape: NoiseShape | null }>();
const foundRails = new WeakMap<StageProgram, { readonly hertz: number; readonly rails: readonly RailResponse[] }>();

/**
 * The plan with what `supply` adds; the plan itself where that is nothing. A stage with noise is given the place in the path that its numbers are drawn for: the same setting has the same noise wherever it runs.
 */
export function withNoise(plan: PathPlan, supply: StageValues | null, circuitOf: CircuitOf): PathPlan {
  const noisy = hasNoise(supply);
  const rippling = hasRipple(supply);
  if (supply === null || !(noisy || rippling)) return plan;
  const railsOf = (planned: PlannedStage): readonly RailResponse[] => knownRails(planned, rippleHertz(supply), circuitOf);
  // What is out of circuit but on trial stands on the same rails and draws the same.
  const shared = rippling ? sharedRails(supply, plan.stages.map(railsOf)) : [];
  const internalRateHz = plan.baseRateHz * plan.oversamplingFactor;
  const added = (planned: PlannedStage): PlannedStage => {
    const { program } = planned.wired;
    if (program.kind !== 'circuit') return planned;
    const shape = noisy ? knownShape(planned, supply['temperatureC'] as number, plan.baseRateHz, circuitOf) : null;
    const ripple = rippling ? rippleTable(railsOf(planned), shared, program.outputGain, rippleHertz(supply), internalRateHz) : null;
    if (shape === null && ripple === null) return planned;
    const place = planned.members.at(-1)?.index ?? surroundingsPlace(planned);
    return { ...planned, noise: { seed: supply['seed'] as number, place, shape, ripple } };
  };
  return {
    ...plan,
    stages: plan.stages.map(added),
    trial: plan.trial === null ? null : { ...plan.trial, without: plan.trial.without.map(added) },
    direct: plan.direct === null ? null : added(plan.direct),
  };
}

/** Beyond every stage's: source, load, direct. */
function surroundingsPlace({ key }: PlannedStage): number {
  let hash = 0;
  for (let k = 0; k < key.length; k += 1) hash = Math.imul(hash, 31) + key.charCodeAt(k);
  return 1_000_000 + (hash >>> 12);
}

function knownShape(planned: PlannedStage, temperatureC: number, baseRateHz: number, circuitOf: CircuitOf): NoiseShape | null {
  const { program } = planned.wired;
  const before = foundShapes.get(program);
  if (before?.temperatureC === temperatureC && before.baseRateHz === baseRateHz) return before.shape;
  const document = circuitOf(planned);
  let shape: NoiseShape | null = null;
  if (document !== null && program.kind === 'circuit') {
    const hz = fitFrequencies(baseRateHz);
    const square = program.outputGain * program.outputGain;
    shape = fitNoiseShape(hz, ownDensity(analyseNoise(document, hz, temperatureC)).map((density) => square * density), baseRateHz);
  }
  foundShapes.set(program, { temperatureC, baseRateHz, shape });
  return shape;
}

function knownRails(planned: PlannedStage, hertz: number, circuitOf: CircuitOf): readonly RailResponse[] {
  const { program } = planned.wired;
  const before = foundRails.get(program);
  if (before?.hertz === hertz) return before.rails;
  const document = program.kind === 'circuit' ? circuitOf(planned) : null;
  const rails = document === null ? [] : analyseRails(document, Array.from({ length: rippleOrders }, (_, k) => (k + 1) * hertz));
  foundRails.set(program, { hertz, rails });
  return rails;
}

/** One period or a few of what the rails bring to an output, in volts at the internal rate, read round and round from frame 0 on; null for a circuit without rails. */
function rippleTable(rails: readonly RailResponse[], shared: Parameters<typeof rippleAtOutput>[0], gain: number, hertz: number, rateHz: number): Float64Array | null {
  if (rails.length === 0) return null;
  const { cycles, periodFrames: frames } = chooseFrequency(hertz, rateHz);
  const sines = Float64Array.from({ length: frames }, (_, i) => sin((2 * Math.PI * i) / frames));
  const cosines = Float64Array.from({ length: frames }, (_, i) => cos((2 * Math.PI * i) / frames));
  const table = new Float64Array(frames);
  for (const { order, sinePeakVolts, cosinePeakVolts } of rippleAtOutput(shared, rails, gain)) {
    if (2 * order * hertz >= rateHz) continue;
    for (let i = 0; i < frames; i += 1) {
      const at = (order * cycles * i) % frames;
      table[i] = table[i]! + sinePeakVolts * sines[at]! + cosinePeakVolts * cosines[at]!;
    }
  }
  return table;
}
