/** How what runs is called in figures of a path. */
import { decibelsToRatio, ratioToDecibels } from '../math/index.ts';
import { surroundingsKeys, type PathSetting, type PlannedStage } from '../path/index.ts';
import { stageById } from '../stages/index.ts';

const surroundingsTitles: Readonly<Record<string, string>> = {
  [surroundingsKeys.source]: 'Source and tie line', [surroundingsKeys.load]: 'Tie line and load', [surroundingsKeys.direct]: 'Surroundings without the path',
};

/** Key, and the titles of the stages that run together with their places in the path. */
export function namesOf({ stages }: PathSetting, { key, members }: PlannedStage): { readonly key: string; readonly title: string } {
  if (members.length === 0) return { key, title: surroundingsTitles[key] ?? key };
  return { key, title: members.map(({ index }) => `${index + 1} ${stageById(stages[index]!.stage).title}`).join(' + ') };
}

/** Level of rms volts: 0 dBu is √0.6 V. 0 V → −∞. */
export const dbuOfRms = (volts: number): number => ratioToDecibels(volts / Math.sqrt(0.6));
/** … and back. */
export const rmsOfDbu = (dbu: number): number => Math.sqrt(0.6) * decibelsToRatio(dbu);
