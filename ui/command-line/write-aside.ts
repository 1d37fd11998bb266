import { rename, rm, writeFile } from 'node:fs/promises';

/** Writes a whole file or none: beside it first, then in its place. */
export async function writeAside(path: string, content: string | Uint8Array): Promise<void> {
  const partPath = `${path}.part-${process.pid}`;
  try {
    await writeFile(partPath, content, { flag: 'wx' });
    await rename(partPath, path);
  } catch (error) {
    await rm(partPath, { force: true });
    throw error;
  }
}
