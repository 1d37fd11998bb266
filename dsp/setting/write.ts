/** Setting → text, always the same bytes for the same setting. */
import { supply, surroundings } from '../path/index.ts';
import type { PathStage } from '../path/index.ts';
import { stageById } from '../stages/index.ts';
import type { SheetDefinition, StageValues } from '../stages/index.ts';
import { numericsVersion } from './contract.ts';
import type { Setting, SettingNote } from './contract.ts';
import { pinContent } from './heard.ts';
import { checksumOf } from './text-checksum.ts';

export const settingFormat = 'stagebench/setting';
export const settingVersion = 3;

/**
 * The file of a setting: JSON with a fixed order of fields (stage values in the order of the stage's table), two-space
 * indent, a final line feed, shortest round-trip numbers (ECMA-262 Number::toString, the same in every engine), and last a
 * checksum of everything before it.
 */
export function writeSetting(setting: Setting): string {
  const content = settingContent(setting);
  return `${JSON.stringify({ ...content, checksum: checksumOf(content) }, null, 2)}\n`;
}

/** The fields of a setting file in canonical order, without the checksum. Keys of stages are editing identities and stay out. */
export function settingContent(setting: Setting): object {
  const { path, levelMatch } = setting;
  return {
    format: settingFormat,
    version: settingVersion,
    numerics: numericsVersion,
    title: setting.title,
    notes: setting.notes.map(noteContent),
    baseRateHz: setting.baseRateHz,
    fullScaleDbu: path.fullScaleDbu,
    oversamplingFactor: path.oversamplingFactor,
    ladder: path.ladder,
    surroundings: sheetContent(surroundings, path.surroundings),
    supply: sheetContent(supply, path.supply),
    path: path.stages.map(stageContent),
    joints: setting.joints && setting.joints.map((stored) => stored && { joined: stored.joined, differenceDb: stored.differenceDb }),
    levelMatch: levelMatch && {
      onTrial: levelMatch.onTrial === 'path' ? 'path' : { stageIndex: levelMatch.onTrial.stageIndex, ...(levelMatch.onTrial.without === undefined ? {} : { without: levelMatch.onTrial.without }) },
      inGainDb: levelMatch.inGainDb,
      outGainDb: levelMatch.outGainDb,
      residualDb: levelMatch.residualDb,
      programme: levelMatch.programme,
    },
    rules: setting.rules && setting.rules.map((stored) => stored && { rule: stored.rule, errorDb: stored.errorDb }),
  };
}

function noteContent({ date, text, verdict, pin }: SettingNote): object {
  return { date, text, ...(verdict === undefined ? {} : { verdict }), ...(pin === undefined ? {} : { pin: pinContent(pin) }) };
}

/** One stage as it stands in a file. */
export function stageContent({ stage, inCircuit, reversed, joined, values }: PathStage): object {
  return {
    stage,
    inCircuit,
    reversed,
    joined,
    values: valuesContent(stageById(stage), values),
  };
}

/** What stands round the path or supplies it, as it stands in a file. */
export function sheetContent(sheet: SheetDefinition, values: StageValues | null): object | null {
  return values && valuesContent(sheet, values);
}

function valuesContent({ parameters }: Pick<SheetDefinition, 'parameters'>, values: StageValues): object {
  return Object.fromEntries(parameters.map(({ id }) => [id, withoutNegativeZero(values[id])]));
}

function withoutNegativeZero(value: number | string | undefined): number | string | undefined {
  return typeof value === 'number' ? value + 0 : value;
}
