import { readFile, stat } from 'node:fs/promises';
import { InputFailure } from './failure.ts';

/** Reads a record of the bench whole; its size is looked at first, and refusals name the file. @param what as in "a ticket" @throws InputFailure */
export async function readRecordFile<T>(path: string, what: string, mostCharacters: number, parse: (text: string) => T): Promise<T> {
  const { size } = await stat(path);
  // In UTF-8 a character of the limit has up to three bytes, nearly all of a record's have one.
  if (size > 2 * mostCharacters) throw new InputFailure(`${path}: expected ${what} of at most ${mostCharacters / 1e6} MB, got ${Math.ceil(size / 1e6)} MB`);
  try {
    return parse(await readFile(path, 'utf8'));
  } catch (error) {
    throw error instanceof Error && error.name === 'SettingError' ? new InputFailure(`${path}: ${error.message}`) : error;
  }
}
