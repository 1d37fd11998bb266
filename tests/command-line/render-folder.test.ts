/** Folders of recordings: in this thread from the sources, over threads and without WebAssembly from a build of its own. */
import { spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'vite';
import { beforeAll, describe, expect, it } from 'vitest';
import { encodeWholeWav } from '../../dsp/recording/index.ts';
import { openingSetting, writeSetting } from '../../dsp/setting/index.ts';
import { plucked, sine } from '../path/support.ts';
import { run, workFolder } from './support.ts';
import type { Run } from './support.ts';

const inFolder = workFolder();
const settingPath = inFolder('opening.json');
writeFileSync(settingPath, writeSetting(openingSetting()));
const session = inFolder('session');
mkdirSync(session);
const programmes: Readonly<Record<string, readonly Float64Array[]>> = {
  'bass.wav': [sine(55, 0.2, 3000)],
  'clarinet.WAV': [plucked(2500)],
  'hall.wav': [plucked(2000), sine(880, 0.1, 2000)],
  'piano.wav': [plucked(4000, 0.5)],
};
const names = Object.keys(programmes).sort();
for (const [name, channels] of Object.entries(programmes)) {
  const samples = { encoding: 'pcm24', channelCount: channels.length as 1 | 2, rateHz: name === 'bass.wav' ? 44_100 : 48_000 } as const;
  writeFileSync(join(session, name), encodeWholeWav(samples, channels, { clippedSamples: 0, notNumberSamples: 0 }));
}
writeFileSync(join(session, 'cut-short.wav'), readFileSync(join(session, 'piano.wav')).subarray(0, 5000));
writeFileSync(join(session, 'notes.txt'), 'not a recording');

interface FileReport {
  readonly in: string;
  readonly out: string | null;
  readonly sha256?: string;
  readonly error?: string;
}

const hashesOf = (reports: readonly FileReport[]) => Object.fromEntries(reports.filter(({ out }) => out !== null).map(({ in: path, sha256 }) => [path.slice(session.length + 1), sha256]));

/** Each file rendered alone. */
const alone: Record<string, string> = {};
const bytesAlone: Record<string, Buffer> = {};
beforeAll(async () => {
  for (const name of names) {
    const out = inFolder(`alone-${name}`);
    alone[name] = (JSON.parse((await run('render', '--setting', settingPath, '--in', join(session, name), '--out', out, '--json')).stdout) as { sha256: string }).sha256;
    bytesAlone[name] = readFileSync(out);
  }
});

function expectAllButTheBroken(result: Run, folder: string): void {
  expect(result.exitCode).toBe(1);
  expect(result.stderr).toMatch(/^stagebench: .*cut-short\.wav: samples: expected 4000 frames, the file ends after \d+\n$/);
  expect(readdirSync(folder).sort()).toEqual(names);
  for (const name of names) expect(readFileSync(join(folder, name)).equals(bytesAlone[name]!), name).toBe(true);
}

describe('a folder rendered in this thread', () => {
  it('takes AIFF and FLAC too, gives WAV, and the same samples as of the WAV file', async () => {
    const mixed = inFolder('mixed');
    mkdirSync(mixed);
    const files = new URL('../recording/files/', import.meta.url);
    const sources = { 'a.wav': 'stereo24.wav', 'b.aiff': 'stereo24.aiff', 'c.flac': 'stereo24-level5.flac' };
    for (const [name, from] of Object.entries(sources)) writeFileSync(join(mixed, name), readFileSync(new URL(from, files)));
    const out = inFolder('mixed-out');
    const { exitCode, stdout } = await run('render', '--setting', settingPath, '--in', mixed, '--out', out, '--workers', '1', '--json');
    expect(exitCode).toBe(0);
    expect(readdirSync(out).sort()).toEqual(['a.wav', 'b.wav', 'c.wav']);
    const hashes = (JSON.parse(stdout) as FileReport[]).map(({ sha256 }) => sha256);
    expect(new Set(hashes).size).toBe(1);
    writeFileSync(join(mixed, 'a.aif'), readFileSync(join(mixed, 'b.aiff')));
    const twice = await run('render', '--setting', settingPath, '--in', mixed, '--out', inFolder('never'));
    expect(twice.exitCode).toBe(2);
    expect(twice.stderr).toContain('expected recordings of different names, got several that would become a.wav');
  });

  it('gives the files that each alone would give, names the broken one and exits with 1', async () => {
    const out = inFolder('one-thread');
    const result = await run('render', '--setting', settingPath, '--in', session, '--out', out, '--workers', '1', '--json');
    expectAllButTheBroken(result, out);
    const reports = JSON.parse(result.stdout) as FileReport[];
    expect(reports.map(({ in: path }) => path.slice(session.length + 1))).toEqual([...names, 'cut-short.wav'].sort());
    expect(hashesOf(reports)).toEqual(alone);
    expect(reports.find(({ out: written }) => written === null)!.error).toContain('cut-short.wav');
  });

  it('prints a table of hashes', async () => {
    const result = await run('render', '--setting', settingPath, '--in', session, '--out', inFolder('table'), '--workers', '1');
    const lines = result.stdout.trimEnd().split('\n');
    expect(lines[0]).toMatch(/^file +frames +Hz +clipped +not converged +sha256$/);
    expect(lines.slice(1).map((line) => line.split(/ +/)[0])).toEqual([...names, 'cut-short.wav'].sort());
    for (const name of names) expect(lines.find((line) => line.startsWith(name))).toMatch(new RegExp(`${alone[name]}$`));
    expect(lines.find((line) => line.startsWith('cut-short.wav'))).toMatch(/not rendered$/);
  });

  it.each([
    ['the folder of the recordings', () => ['--in', session, '--out', `${session}/.`], /^stagebench: --out: expected another folder than --in, got /],
    ['no recordings', () => { mkdirSync(inFolder('none')); return ['--in', inFolder('none'), '--out', inFolder('x')]; }, /expected at least one recording \(\*\.wav, .*\), found none\n$/],
    ['threads for one file', () => ['--in', join(session, 'piano.wav'), '--out', inFolder('x.wav'), '--workers', '2'], /^stagebench: --workers: expected --in to be a folder, got a file, /],
    ['a log', () => ['--in', session, '--out', inFolder('x'), '--events', settingPath], /^stagebench: --events: expected --in to be the loop that was played, got a folder, /],
    ['a file in the folder\'s place', () => ['--in', session, '--out', settingPath], /^stagebench: .*opening\.json: /],
  ])('refuses %s', async (_what, words, sentence) => {
    const result = await run('render', '--setting', settingPath, ...words());
    expect(result.exitCode).toBe(2);
    expect(result.stderr).toMatch(sentence);
  });
});

describe('the built command line', () => {
  const built = inFolder('built');
  beforeAll(async () => {
    await build({ configFile: fileURLToPath(new URL('../../ui/command-line/vite.config.ts', import.meta.url)), logLevel: 'error', build: { outDir: built } });
  });

  function runBuilt(nodeOptions: readonly string[], ...words: string[]): Run {
    const { status, stdout, stderr } = spawnSync(process.execPath, [...nodeOptions, join(built, 'stagebench.mjs'), ...words], { encoding: 'utf8' });
    return { exitCode: status ?? -1, stdout, stderr };
  }

  it('renders a folder over several threads to the same files', () => {
    const out = inFolder('three-threads');
    const result = runBuilt([], 'render', '--setting', settingPath, '--in', session, '--out', out, '--workers', '3', '--json');
    expectAllButTheBroken(result, out);
    expect(hashesOf(JSON.parse(result.stdout) as FileReport[])).toEqual(alone);
  });

  it('gives the same samples where Node has no WebAssembly, and says so', () => {
    const out = inFolder('loops.wav');
    const result = runBuilt(['--no-expose-wasm'], 'render', '--setting', settingPath, '--in', join(session, 'hall.wav'), '--out', out, '--json');
    expect(result.stderr).toBe('stagebench: this Node has no WebAssembly: the solver runs as plain loops, to the same bits but several times slower\n');
    expect(result.exitCode).toBe(0);
    expect((JSON.parse(result.stdout) as FileReport).sha256).toBe(alone['hall.wav']);
  });
});
