/** What names a setting beyond doubt. */
import type { FrozenSetting, Setting } from './contract.ts';
import { textSha256 } from './text-checksum.ts';
import { writeSetting } from './write.ts';

/** SHA-256 of the bytes of the setting's file, 64 hexadecimal digits: what `sha256sum` says of the frozen file. */
export function settingSha256(setting: Setting): string {
  return settingTextSha256(writeSetting(setting));
}

/** Of the text of a setting file. */
export function settingTextSha256(text: string): string {
  return textSha256(text);
}

/** The setting as it stands, without its notes, beside the text of its file. */
export function freezeSetting(setting: Setting): FrozenSetting {
  const bare = setting.notes.length === 0 ? setting : { ...setting, notes: [] };
  const text = writeSetting(bare);
  return { setting: bare, text, sha256: textSha256(text) };
}
