import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { parseSetting, readyPaths, readySetting } from '../../dsp/setting/index.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();

describe('stagebench ready', () => {
  it('lists the ready paths, with what stands in them and what to listen for', async () => {
    const { exitCode, stdout } = await run('ready');
    expect(exitCode).toBe(0);
    for (const { id, title } of readyPaths) expect(stdout).toContain(`${id}: ${title}\n`);
    expect(stdout).toContain('  equaliser\n');
    expect(stdout.split('\n').every((line) => line.length <= 112)).toBe(true);
    const listed = JSON.parse((await run('ready', '--json')).stdout) as { name: string; stages: string[] }[];
    expect(listed.map(({ name }) => name)).toEqual(readyPaths.map(({ id }) => id));
  });

  it('writes one, its joints probed', async () => {
    const out = inFolder('rehearsal.json');
    const { exitCode, stdout } = await run('ready', 'rehearsal', '--out', out);
    expect(exitCode).toBe(0);
    expect(stdout).toMatch(/rehearsal\.json: rehearsal, harmonic shaping only\nListen for: /);
    expect(parseSetting(readFileSync(out, 'utf8'))).toEqual({ ...readySetting('rehearsal'), joints: [null] });
  });

  it('refuses a name that is none, a name without a file, a file without a name', async () => {
    expect(await run('ready', 'garage', '--out', inFolder('g.json'))).toMatchObject({ exitCode: 2, stderr: expect.stringMatching(/^stagebench: ready: expected one of hall-amplifier, .*, got garage\n$/) as string });
    expect(await run('ready', 'rehearsal')).toMatchObject({ exitCode: 2, stderr: expect.stringMatching(/^stagebench: ready: expected --out, got nothing/) as string });
    expect(await run('ready', '--out', inFolder('g.json'))).toMatchObject({ exitCode: 2, stderr: expect.stringMatching(/expected a name beside --out/) as string });
  });
});
