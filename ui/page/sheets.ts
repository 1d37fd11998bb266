/** Sheets of the path that are no stages: what stands round it, what supplies it. Shown, edited and undone like a stage's, under keys of their own. Pure. */
import { supply, surroundings } from '../../dsp/path/index.ts';
import type { PathSetting } from '../../dsp/path/index.ts';
import { defaultValues, stageById } from '../../dsp/stages/index.ts';
import type { SheetDefinition, StageValues } from '../../dsp/stages/index.ts';

export type SheetKey = 'surroundings' | 'supply';

export const sheets: Readonly<Record<SheetKey, SheetDefinition>> = { surroundings, supply };

export const sheetKeys = Object.keys(sheets) as readonly SheetKey[];

export function isSheetKey(key: string): key is SheetKey {
  return key === 'surroundings' || key === 'supply';
}

/** What a sheet that is off stands for. */
export const sheetOffWords: Readonly<Record<SheetKey, string>> = {
  surroundings: 'Off: an ideal source drives the first stage, and nothing but the stages’ own loads takes the signal. Switched on, source and load have their impedances and cables, in circuit and out.',
  supply: 'Off: parts make no noise, and the rails are stiff and clean.',
};

/** Values under a key, of a stage or of a sheet; null where there is no such stage or the sheet is off. */
export function valuesOf(path: PathSetting, key: string): StageValues | null {
  if (isSheetKey(key)) return path[key];
  return path.stages.find((stage) => stage.key === key)?.values ?? null;
}

/** Table under a key; null where there is no such stage. */
export function tableOf(path: PathSetting, key: string): SheetDefinition | null {
  if (isSheetKey(key)) return sheets[key];
  const stage = path.stages.find((candidate) => candidate.key === key);
  return stage ? stageById(stage.stage) : null;
}

/** Switched on with the values of its table, or off. */
export function withSheet(path: PathSetting, key: SheetKey, on: boolean): PathSetting {
  if ((path[key] !== null) === on) return path;
  return { ...path, [key]: on ? defaultValues(sheets[key]) : null };
}

/** The path with other values under a key. */
export function withValues(path: PathSetting, key: string, values: StageValues): PathSetting {
  if (isSheetKey(key)) return { ...path, [key]: values };
  return { ...path, stages: path.stages.map((stage) => (stage.key === key ? { ...stage, values } : stage)) };
}
