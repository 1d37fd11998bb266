/** Whoever reads what is printed may leave first: `stagebench … | head -3`. */
import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { build } from 'vite';
import { beforeAll, describe, expect, it } from 'vitest';
import { writeBlindComparison } from '../../dsp/setting/index.ts';
import { blindComparison } from '../setting/comparisons.ts';
import { workFolder } from './support.ts';

const inFolder = workFolder();
const program = inFolder('built/stagebench.mjs');
const config = fileURLToPath(new URL('../../ui/command-line/vite.config.ts', import.meta.url));

/** The program with `stream` shut before it prints; what the other one said, and the exit code. */
async function unread(stream: 'stdout' | 'stderr', ...args: string[]): Promise<{ exitCode: number; said: string }> {
  const child: ChildProcess = spawn(process.execPath, [program, ...args], { stdio: ['ignore', 'pipe', 'pipe'] });
  child[stream]!.destroy();
  let said = '';
  child[stream === 'stdout' ? 'stderr' : 'stdout']!.on('data', (text) => { said += String(text); });
  const [exitCode] = await once(child, 'close') as [number];
  return { exitCode, said };
}

describe('a reader who leaves', () => {
  beforeAll(async () => {
    await build({ configFile: config, logLevel: 'error', build: { outDir: inFolder('built') } });
  }, 60_000);

  it('ends nothing in a stack trace, and the exit code is that of the work', async () => {
    expect(await unread('stdout', 'ready')).toEqual({ exitCode: 0, said: '' });
    const record = inFolder('mended.json');
    writeFileSync(record, writeBlindComparison(blindComparison()).replace('"hit": true', '"hit": false'));
    expect(await unread('stdout', 'blind', record)).toEqual({ exitCode: 1, said: '' });
    expect(await unread('stderr', 'ready', 'garage')).toEqual({ exitCode: 2, said: '' });
  }, 60_000);
});
