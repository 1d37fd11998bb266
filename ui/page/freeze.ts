/** Freeze hands a setting over as a file; thaw takes one back. The texts themselves are made and read by `dsp/setting`. */
import { writeSetting } from '../../dsp/setting/index.ts';
import type { Setting } from '../../dsp/setting/index.ts';
import { fileStem } from '../documents/file-stem.ts';
import { download } from './download.ts';

/** A file larger than this is no setting; it is refused by its size before it is read. */
const largestFileBytes = 2_000_000;

export function freezeFileName(title: string): string {
  return `${fileStem(title)}.setting.json`;
}

export function downloadSetting(setting: Setting): void {
  download(writeSetting(setting), freezeFileName(setting.title), 'application/json');
}

/** Text of a picked or dropped file. @throws Error with one sentence when it is too large or cannot be read */
export async function readSettingFile(file: File): Promise<string> {
  if (file.size > largestFileBytes) throw new Error(`${file.name} was not thawed: expected a setting of at most 2 MB, got ${Math.ceil(file.size / 1e6)} MB.`);
  try {
    return await file.text();
  } catch {
    throw new Error(`${file.name} could not be read.`);
  }
}
