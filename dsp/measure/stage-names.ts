/** How what runs is called in figures of a path. */
import { ratioToDecibels } from '../math/index.ts';
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

/**
 * A component or node of what runs, as a person knows it. In a circuit of several each name carries the number of its part: that becomes the stage's place in the path, or falls away where there
 * is one stage; the last part may be the load round the path.
 */
export function partName({ members, loaded }: PlannedStage, name: string): string {
  const numbered = members.length > 1 || loaded ? /^(\d+) (.+)$/.exec(name) : null;
  if (!numbered) return name;
  const member = members[Number(numbered[1]) - 1];
  const own = numbered[2]!;
  if (member === undefined) return `load ${own}`;
  return members.length === 1 ? own : `${member.index + 1} ${own}`;
}

/** Level of rms volts: 0 dBu is √0.6 V. 0 V → −∞. */
export const dbuOfRms = (volts: number): number => ratioToDecibels(volts / Math.sqrt(0.6));
