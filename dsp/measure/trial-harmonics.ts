import type { HarmonicFigures } from '../circuit/index.ts';
import { planPath, type OnTrial, type PathSetting, type PlanOptions } from '../path/index.ts';
import { measurePathInSteps, probePeakVolts } from './measure-path.ts';

export interface TrialHarmonicsRequest {
  readonly path: PathSetting;
  /** Verdicts of the loading probe, as for `planPath`. */
  readonly joints: PlanOptions['joints'];
  readonly baseRateHz: number;
  readonly onTrial: OnTrial;
  readonly frequencyHz: number;
  /** At the source. */
  readonly levelDbu: number;
}

/** Harmonics of what is on trial, and the tone they were measured with. */
export interface TrialHarmonics {
  /** The frequency in fact used. */
  readonly frequencyHz: number;
  readonly levelDbu: number;
  /** The whole path, or the stage on trial alone at the level that reaches it in the path. */
  readonly scope: 'path' | 'stage';
  /** Null: it oscillates or is bistable. */
  readonly measured: (HarmonicFigures & { readonly fundamentalDbu: number; readonly weighted: { readonly orderSquared: number } }) | null;
}

/** What a document says of a path that is listened to: at the grade of measuring, without the noise that plays. Yields between stages. Throws PathError. */
export function* trialHarmonicsInSteps({ path, joints = null, baseRateHz, onTrial, frequencyHz, levelDbu }: TrialHarmonicsRequest): Generator<void, TrialHarmonics> {
  const plan = planPath({ ...path, supply: null }, baseRateHz, { grade: 'measuring', joints, onTrial });
  yield;
  const scope = onTrial.kind === 'stage' ? { kind: 'stage', key: onTrial.key } as const : { kind: 'path' } as const;
  const found = yield* measurePathInSteps(plan, { frequencyHz, peakVolts: probePeakVolts(levelDbu), scope });
  return found.oscillates
    ? { frequencyHz, levelDbu, scope: scope.kind, measured: null }
    : { frequencyHz: found.frequencyHz, levelDbu, scope: scope.kind, measured: found };
}
