/** What a picked or dropped file is, and the actions that take it in: JSON by its format, everything else as material. */
import { readSettingFile } from './freeze.ts';
import type { Action } from './state.ts';

/** @throws Error with one sentence when it cannot be read */
export async function actionOfFile(file: File): Promise<Action> {
  return { kind: 'thaw', text: await readSettingFile(file), fileName: file.name };
}
