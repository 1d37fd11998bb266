/** What a comparison by ear was of: two sides, on what programme, under which gains. Read from untrusted data and written; an exact pair. */
import type { FrozenSetting, HeardProgramme, Region, StoredLevelMatch } from './contract.ts';
import { join, readNumber, readOneOf, readRecord, readText, type UnknownRecord } from './fields.ts';
import { frozenContent, programmeContent, readFrozen, readProgramme, readRegion, regionContent, type Disagreement } from './heard.ts';
import { readOnTrial, parseSetting } from './parse.ts';

/** More left over between two sides than this, dB, and their levels could tell them apart. */
export const largestComparedResidualDb = 0.1;

export interface ComparedGains {
  readonly inGainDb: number;
  readonly outGainDb: number;
  /** In less out under these gains; of several excerpts the worst. */
  readonly residualDb: number;
}

export interface Compared {
  /** "whole path", "2 push-pull", "drafts I and III" */
  readonly what: string;
  /** Of side 0 and of side 1: "in circuit", "out of circuit". */
  readonly names: readonly [string, string];
  /** A pair: the two settings are the two sides. */
  readonly onTrial: StoredLevelMatch['onTrial'] | 'pair';
  readonly programme: HeardProgramme | null;
  /** Null: the whole of it. */
  readonly region: Region | null;
  readonly levelMatch: ComparedGains;
  readonly setting: FrozenSetting;
  /** Of a pair: side 1; else null. */
  readonly secondSetting: FrozenSetting | null;
}

export const comparedFields = ['what', 'side0', 'side1', 'onTrial', 'programme', 'region', 'levelMatch', 'settingSha256', 'setting', 'second'] as const;

/** @throws SettingError naming the field; what does not agree with itself is told beside it instead */
export function readCompared(value: unknown, where: string): { readonly compared: Compared; readonly disagreements: readonly string[] } {
  const record = readRecord(value, where, comparedFields);
  const first = readFrozen(record['setting'], record['settingSha256'], where, parseSetting);
  const second = readSecond(record['second'], join(where, 'second'));
  const onTrial = second === null ? readOnTrial(record['onTrial'], join(where, 'onTrial'), first.frozen.setting.path.stages.length) : readOneOf(record['onTrial'], join(where, 'onTrial'), ['pair']);
  const levelMatch = readGains(record['levelMatch'], join(where, 'levelMatch'));
  const compared: Compared = {
    what: readText(record['what'], join(where, 'what'), 200),
    names: [readText(record['side0'], join(where, 'side0'), 100), readText(record['side1'], join(where, 'side1'), 100)],
    onTrial, levelMatch,
    programme: readProgramme(record['programme'], join(where, 'programme')),
    region: readRegion(record['region'], join(where, 'region')),
    setting: first.frozen, secondSetting: second?.frozen ?? null,
  };
  const told: readonly Disagreement[] = [first.disagreement, second?.disagreement ?? null, residualDisagreement(join(where, 'levelMatch.residualDb'), levelMatch.residualDb)];
  return { compared, disagreements: told.filter((sentence) => sentence !== null) };
}

/** No comparison begins with more. */
export function residualDisagreement(where: string, residualDb: number): Disagreement {
  return Math.abs(residualDb) <= largestComparedResidualDb ? null : `${where}: expected at most ${largestComparedResidualDb} dB either way, got ${residualDb}: level alone could tell the two apart`;
}

function readSecond(value: unknown, where: string): ReturnType<typeof readFrozen> | null {
  if (value === null) return null;
  const record: UnknownRecord = readRecord(value, where, ['settingSha256', 'setting']);
  return readFrozen(record['setting'], record['settingSha256'], where, parseSetting);
}

function readGains(value: unknown, where: string): ComparedGains {
  const record = readRecord(value, where, ['inGainDb', 'outGainDb', 'residualDb']);
  return {
    inGainDb: readNumber(record['inGainDb'], join(where, 'inGainDb'), -200, 0),
    outGainDb: readNumber(record['outGainDb'], join(where, 'outGainDb'), -200, 0),
    residualDb: readNumber(record['residualDb'], join(where, 'residualDb'), -200, 200),
  };
}

/** In a fixed order. */
export function comparedContent({ what, names, onTrial, programme, region, levelMatch: { inGainDb, outGainDb, residualDb }, setting, secondSetting }: Compared): object {
  return {
    what, side0: names[0], side1: names[1], onTrial, programme: programmeContent(programme), region: regionContent(region),
    levelMatch: { inGainDb, outGainDb, residualDb }, ...frozenContent(setting), second: secondSetting && frozenContent(secondSetting),
  };
}
