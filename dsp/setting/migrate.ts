/** Older files → the current version. */
import { readOneOf } from './fields.ts';
import type { UnknownRecord } from './fields.ts';
import { refuseField } from './setting-error.ts';
import { settingVersion } from './write.ts';

/** Entry n turns a file of version n into one of version n + 1. */
const migrations: ReadonlyMap<number, (file: UnknownRecord) => UnknownRecord> = new Map([
  // Version 1 knew one rule for the whole path, which went without saying; since then every stage has the rule it needs.
  [1, ({ integrationRule, ...file }) => {
    readOneOf(integrationRule, 'integrationRule', ['T1']);
    return { ...file, version: 2 };
  }],
  // Version 2 knew nothing of joints and of what stands round a path.
  [2, ({ path, ...file }) => ({
    ...file, version: 3, surroundings: null, supply: null, joints: null,
    path: Array.isArray(path) ? path.map((stage: unknown) => (typeof stage === 'object' && stage !== null ? { joined: false, ...stage } : stage)) : path,
  })],
]);

/** @throws SettingError where the version is not known here */
export function migrate(file: UnknownRecord): UnknownRecord {
  let current = file;
  for (let version = file['version']; version !== settingVersion; version = current['version']) {
    const step = typeof version === 'number' ? migrations.get(version) : undefined;
    if (!step) refuseField('version', `1 to ${settingVersion}`, file['version']);
    current = step(current);
  }
  return current;
}
