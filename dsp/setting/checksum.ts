/** What names a setting beyond doubt. */
import { sha256 } from '../math/index.ts';
import type { Setting } from './contract.ts';
import { utf8 } from './utf8.ts';
import { writeSetting } from './write.ts';

/** SHA-256 of the bytes of the setting's file, 64 hexadecimal digits: what `sha256sum` says of the frozen file. */
export function settingSha256(setting: Setting): string {
  return settingTextSha256(writeSetting(setting));
}

/** Of the text of a setting file. */
export function settingTextSha256(text: string): string {
  return sha256(utf8(text));
}
