/** Level at each joint of the path for the nominal source, and how far each stage is from where it gives out. Pure. */
import type { BenchState } from './state.ts';

export interface JointHeadroom {
  readonly key: string;
  readonly levelDbu: number;
  /** Of a sine at this level, by the calibration. */
  readonly levelDbfs: number;
  /** From this level to 1 % distortion at 1 kHz; null where it is not known or never comes. */
  readonly marginDb: number | null;
}

export interface PathHeadroom {
  readonly joints: readonly JointHeadroom[];
  /** Runs out first: a stage, or full scale at the end of the path; null before anything is known. */
  readonly first: { readonly key: string | 'full-scale'; readonly marginDb: number } | null;
}

export function headroomAlong({ setting, live }: BenchState): PathHeadroom {
  const { stages, fullScaleDbu } = setting.path;
  const joints = stages.flatMap(({ key, inCircuit }): JointHeadroom[] => {
    const levelDbu = live.jointLevelsDbu[key];
    if (!inCircuit || levelDbu === undefined) return [];
    const clipDbu = live.reports[key]?.clipOutputDbu ?? null;
    return [{ key, levelDbu, levelDbfs: levelDbu - fullScaleDbu, marginDb: clipDbu === null || !Number.isFinite(levelDbu) ? null : clipDbu - levelDbu }];
  });
  const last = joints.at(-1);
  const ends = joints.flatMap(({ key, marginDb }) => (marginDb === null ? [] : [{ key, marginDb }]));
  if (last && Number.isFinite(last.levelDbu)) ends.push({ key: 'full-scale', marginDb: -last.levelDbfs });
  return { joints, first: ends.reduce<PathHeadroom['first']>((least, end) => (least === null || end.marginDb < least.marginDb ? end : least), null) };
}
