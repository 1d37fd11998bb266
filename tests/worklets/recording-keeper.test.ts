/** Several files read at a time by the worker of recordings. */
import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';
import type { FileBytes } from '../../worklets/workers/recording-file.ts';
import { RecordingKeeper } from '../../worklets/workers/recording-keeper.ts';

const bytes = new Uint8Array(readFileSync(new URL('../recording/files/stereo24-level5.flac', import.meta.url)));
const demo: FileBytes = new Blob([bytes]);
const refused: FileBytes = new Blob([bytes.subarray(0, 50)]);

it('a file that is read meanwhile ends no other, neither refused nor given up', async () => {
  const keeper = new RecordingKeeper();
  const first = keeper.pass(1, demo, () => undefined);
  const second = keeper.pass(2, refused, () => undefined);
  const third = keeper.pass(3, demo, () => undefined);
  keeper.giveUp(3);
  await expect(second).rejects.toThrow();
  expect(await third).toBeNull();
  expect(await first).toMatchObject({ channels: 2 });
  expect((await keeper.stretch((await first)!.key, 0, 10, 1))![0]).toHaveLength(10);
});
