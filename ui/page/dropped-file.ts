/** What a picked or dropped file is, and the actions that take it in: JSON by its format, everything else as material. */
import { longListeningFormat, maximumTicketLength, parseLongListening, ticketFormat } from '../../dsp/setting/index.ts';
import { readSettingFile } from './freeze.ts';
import { listeningId } from './reduce-sitting.ts';
import type { Action } from './state.ts';

/** @param handle where the browser gives one: the file can be opened again by it. @throws Error with one sentence when it cannot be read */
export async function actionOfFile(file: File, handle: FileSystemFileHandle | null = null): Promise<Action> {
  if (!isJson(file)) return { kind: 'open-material', file, handle };
  if (await isOf(file, longListeningFormat)) return takenListening(file);
  return await isOf(file, ticketFormat) ? { kind: 'open-ticket', text: await readTicketFile(file), fileName: file.name } : { kind: 'thaw', text: await readSettingFile(file), fileName: file.name };
}

/** A file says what it is in its first field. */
async function isOf(file: File, format: string): Promise<boolean> {
  const head = await file.slice(0, 200).text().catch(() => '');
  return head.includes(`"${format}"`);
}

/** One that does not agree with itself is not gone on with. */
async function takenListening(file: File): Promise<Action> {
  if (file.size > longestListeningBytes) throw new Error(`${file.name} was not opened: expected a long listening of at most ${longestListeningBytes / 1e6} MB, got ${Math.ceil(file.size / 1e6)} MB.`);
  try {
    const { listening, disagreements } = parseLongListening(await file.text());
    if (disagreements[0] !== undefined) throw new Error(disagreements[0]);
    return { kind: 'long-take', id: listeningId(listening), listening };
  } catch (error) {
    throw new Error(`${file.name} was not opened. ${(error as Error).message}`);
  }
}

const longestListeningBytes = 16_000_000;

async function readTicketFile(file: File): Promise<string> {
  if (file.size > maximumTicketLength) throw new Error(`${file.name} was not opened: expected a ticket of at most ${maximumTicketLength / 1e6} MB, got ${Math.ceil(file.size / 1e6)} MB.`);
  return file.text();
}

/** Of what was dropped, while the browser still tells; null: it gives none. */
export async function droppedHandle(transfer: DataTransfer): Promise<FileSystemFileHandle | null> {
  const item = transfer.items[0] as (DataTransferItem & { getAsFileSystemHandle?(): Promise<FileSystemHandle | null> }) | undefined;
  const handle = await item?.getAsFileSystemHandle?.().catch(() => null);
  return handle instanceof FileSystemFileHandle ? handle : null;
}

function isJson({ name, type }: File): boolean {
  return type === 'application/json' || /\.json$/i.test(name);
}
