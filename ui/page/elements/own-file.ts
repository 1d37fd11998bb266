/** The browser's own way to pick a file. Call it within a press. */
import { actionOfFile } from '../dropped-file.ts';
import { sentenceOf } from '../sentence.ts';
import type { Action } from '../state.ts';

const endings = ['.wav', '.aif', '.aiff', '.aifc', '.flac', '.mp3', '.m4a', '.aac', '.ogg', '.oga', '.opus', '.webm'];

type HandlePicker = (options: { readonly types: readonly { readonly description: string; readonly accept: Readonly<Record<string, readonly string[]>> }[] }) => Promise<readonly FileSystemFileHandle[]>;

/** What the listener picked, by a handle where the browser gives one; null: nothing. */
export async function pickOwnFile(): Promise<Action | null> {
  const { showOpenFilePicker } = globalThis as { readonly showOpenFilePicker?: HandlePicker };
  try {
    if (showOpenFilePicker === undefined) {
      const file = await pickByInput();
      return file && await actionOfFile(file);
    }
    const [handle] = await showOpenFilePicker({ types: [{ description: 'Sound', accept: { 'audio/*': endings } }] });
    return handle === undefined ? null : await actionOfFile(await handle.getFile(), handle);
  } catch (error) {
    if (error instanceof DOMException && error.name === 'AbortError') return null;
    return { kind: 'message', text: `The file could not be opened: ${sentenceOf(error)}.`, urgent: true };
  }
}

/** Never settles where the browser does not say that nothing was picked. */
function pickByInput(): Promise<File | null> {
  return new Promise((resolve) => {
    const input = document.createElement('input');
    input.type = 'file';
    input.accept = `audio/*,${endings.join(',')}`;
    input.addEventListener('change', () => resolve(input.files?.[0] ?? null));
    input.addEventListener('cancel', () => resolve(null));
    input.click();
  });
}
