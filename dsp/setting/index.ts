/** Settings: the file that freezes a path. */
export { numericsVersion } from './contract.ts';
export type { Setting, SettingNote, StoredJoint, StoredLevelMatch, StoredRule } from './contract.ts';
export { applyValues, changeBetween, parseEvents, writeEvents } from './events.ts';
export type { LoggedChange, Played, PlayingLog } from './events.ts';
export { compareHarmonics, parseExpectation, writeExpectation } from './expectation.ts';
export type { Expectation, ExpectedHarmonics, ExpectedRender, Movement } from './expectation.ts';
export { openingSetting } from './opening.ts';
export { parseSetting, parseSettingFile } from './parse.ts';
export type { SettingFile } from './parse.ts';
export { compareJoints, jointWords } from './joints.ts';
export type { JointMovement } from './joints.ts';
export { readyPaths, readySetting, tenStagePath } from './ready-paths.ts';
export type { ReadyPath } from './ready-paths.ts';
export { compareRules, ruleErrorWords, ruleWords, stageRules } from './rules.ts';
export type { RuleMovement } from './rules.ts';
export { settingSchema } from './schema.ts';
export { SettingError } from './setting-error.ts';
export { checksumOf, writeSetting } from './write.ts';
