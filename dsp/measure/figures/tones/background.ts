/** What the path's supply adds at the output of what is measured, where it is on. */
import { decibelsToRatio } from '../../../math/index.ts';
import { hasNoise, hasRipple, rippleHertz } from '../../../path/index.ts';
import { dbuToPeakVolts } from '../../../stages/index.ts';
import type { OutputDensity } from '../../noise-harmonics.ts';
import { pathNoise } from '../../noise-path.ts';
import { pathSupply } from '../../supply-path.ts';
import type { FigureFacts, FigureSubject } from '../contract.ts';
import { plannedIndex } from '../tone.ts';

export interface Background {
  /** Null: nothing makes noise, or it is off. */
  readonly noise: OutputDensity | null;
  readonly noiseDbu: number | null;
  /** As one line at its fundamental: its power is right, its harmonics are not told apart. */
  readonly ripple: readonly { readonly hz: number; readonly peakVolts: number }[];
  readonly rippleDbu: number | null;
}

export function isNoisy({ path }: Pick<FigureFacts, 'path'>): boolean {
  return path !== null && (hasNoise(path.supply) || hasRipple(path.supply));
}

/** Of a stage alone: what it makes itself. */
export function backgroundOf(subject: FigureSubject): Background {
  const { path } = subject;
  const index = plannedIndex(subject);
  const plan = index < 0 ? subject.plan : { ...subject.plan, stages: subject.plan.stages.slice(index, index + 1) };
  const found = path !== null && hasNoise(path.supply) ? pathNoise(path, plan) : null;
  const noise = found !== null && found.outputDbu > -Infinity ? found : null;
  const rippleDbu = path !== null && hasRipple(path.supply) ? pathSupply(path, plan).rippleDbu : null;
  const ripple = path === null || rippleDbu === null || !(rippleDbu > -Infinity) ? [] : [{ hz: rippleHertz(path.supply!), peakVolts: decibelsToRatio(rippleDbu) * dbuToPeakVolts(0) }];
  return { noise: noise === null ? null : { hz: noise.hz, density: noise.density }, noiseDbu: noise?.outputDbu ?? null, ripple, rippleDbu: ripple.length === 0 ? null : rippleDbu };
}
