/** Figures in a terminal: in this thread from the sources, over threads from a build of its own. */
import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { build } from 'vite';
import { beforeAll, describe, expect, it } from 'vitest';
import { figureViews } from '../../dsp/measure/figures/index.ts';
import { encodeWholeWav } from '../../dsp/recording/index.ts';
import { openingSetting, writeSetting } from '../../dsp/setting/index.ts';
import { figureOptions } from '../../ui/command-line/figure-output.ts';
import { figureSubjectOptions } from '../../ui/command-line/figure-subject.ts';
import { pathOf, plucked } from '../path/support.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();
const settingPath = inFolder('opening.json');
writeFileSync(settingPath, writeSetting(openingSetting()));
const circuitPath = fileURLToPath(new URL('../circuit/documents/push-pull-pair.json', import.meta.url));
const loopPath = inFolder('loop.wav');
writeFileSync(loopPath, encodeWholeWav({ encoding: 'pcm24', channelCount: 1, rateHz: 48_000 }, [plucked(9600)], { clippedSamples: 0, notNumberSamples: 0 }));

const levels = ['sweep', 'harmonics-level', '--setting', settingPath, '--levels', '4', '--from-dbu', '-20', '--to-dbu', '10'];

interface Data {
  readonly title: string;
  readonly caption: string;
  readonly tables: readonly { readonly columns: readonly { readonly label: string; readonly unit: string }[]; readonly rows: readonly (readonly (number | string | null)[])[] }[];
  readonly panels: readonly { readonly traces: readonly { readonly id: string; readonly x: readonly number[]; readonly y: readonly (number | null)[] }[] }[];
}

describe('stagebench sweep', () => {
  it('lists the figures, and of each what can be asked', async () => {
    const { stdout } = await run('sweep', '--help');
    for (const { id, title } of figureViews) expect(stdout).toMatch(new RegExp(`^  ${id} +${title.replace(/[()]/g, '.')}`, 'm'));
    const own = (await run('sweep', 'harmonics-level', '--help')).stdout;
    expect(own).toMatch(/^sweep harmonics-level \(--setting FILE/);
    expect(own).toMatch(/--from-dbu +lowest level \(−80 dBu to \+40 dBu; −60 dBu if absent\)\. Level at the source/);
    expect((await run('sweep', 'loop-added', '--help')).stdout).toContain('--in LOOP.wav');
  });

  it('no figure asks for anything under the name of an option that all have', () => {
    const common = new Set([...Object.keys(figureSubjectOptions), ...Object.keys(figureOptions), 'workers', 'help']);
    for (const { id, parameters } of figureViews) {
      const names = parameters.map((parameter) => parameter.id.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`));
      expect(names.filter((name) => common.has(name)), id).toEqual([]);
      expect(new Set(names).size, id).toBe(names.length);
    }
  });

  it('gives the same figures for people, as JSON, as CSV and as a picture', async () => {
    const { exitCode, stdout } = await run(...levels);
    expect(exitCode).toBe(0);
    expect(stdout).toMatch(/^Harmonics against level, whole path, 1 kHz\n\nsource, dBu +output, dBu +gain change, dB +THD, % +H2, dB/);
    const data = JSON.parse((await run(...levels, '--json')).stdout) as Data;
    expect(data.tables[0]!.rows.map(([source]) => source)).toEqual([-20, -10, 0, 10]);
    expect(stdout).toContain(data.caption);
    const fromTrace = data.panels[0]!.traces.find(({ id }) => id === 'H3')!.y;
    expect(fromTrace).toEqual(data.tables[0]!.rows.map((row) => row[5]));
    const csv = (await run(...levels, '--csv')).stdout.split('\r\n');
    expect(csv[0]).toBe('"source, dBu","output, dBu","gain change, dB","THD, %",' + [2, 3, 4, 5, 6, 7, 8, 9, 10].map((order) => `"H${order}, dB"`).join(','));
    expect(Number(csv[1]!.split(',')[5])).toBeCloseTo(fromTrace[0]!, 6);
    const svgPath = inFolder('levels.svg');
    expect((await run(...levels, '--svg', svgPath)).stdout).toBe(stdout);
    expect(readFileSync(svgPath, 'utf8')).toMatch(/^<svg[\s\S]*THD reaches 1 %|^<svg[\s\S]*Harmonics re fundamental/);
  });

  it('measures a circuit document, one stage of a path by its place, and takes values with their units', async () => {
    const circuit = JSON.parse((await run('sweep', 'waveform', '--circuit', circuitPath, '--frequency-hz', '1k5', '--level-dbu', '1.5 V', '--json')).stdout) as Data;
    expect(circuit.title).toBe('Waveform and residual, circuit by itself, 1.5 kHz at +5.7 dBu');
    const stage = JSON.parse((await run('sweep', 'incremental-gain', '--setting', settingPath, '--stage', '2', '--up-to-dbu', '-10', '--json')).stdout) as Data;
    expect(stage.title).toMatch(/^Incremental gain, stage 2 Push-pull/);
    const byKey = await run('sweep', 'incremental-gain', '--setting', settingPath, '--stage', 's2', '--up-to-dbu', '-10', '--json');
    expect(JSON.parse(byKey.stdout)).toEqual(stage);
  });

  it('measures the music where a figure is of it', async () => {
    const { exitCode, stdout } = await run('sweep', 'loop-added', '--setting', settingPath, '--in', loopPath, '--workers', '1');
    expect([exitCode, stdout.length > 200]).toEqual([0, true]);
  });

  it('refuses in one sentence, exit code 2, and leaves no picture behind', async () => {
    const svgPath = inFolder('refused.svg');
    const refused = async (...words: string[]): Promise<string> => {
      const { exitCode, stdout, stderr } = await run('sweep', ...words);
      expect([exitCode, stdout]).toEqual([2, '']);
      expect(stderr).toMatch(/^stagebench: [^\n]+\n$/);
      return stderr;
    };
    expect(await refused()).toContain("expected the figure's name first, one of harmonics-level, ");
    expect(await refused('harmonics', '--setting', settingPath)).toContain('got harmonics');
    expect(await refused('harmonics-level')).toContain('expected either --circuit FILE or --setting FILE, got neither');
    expect(await refused('harmonics-level', '--setting', settingPath, '--loudness', '3')).toContain("Unknown option '--loudness'");
    expect(await refused('harmonics-level', '--setting', settingPath, '--frequency-hz', '1 V')).toContain('--frequency-hz: "1 V" is in V; a frequency is written in Hz.');
    expect(await refused('harmonics-level', '--setting', settingPath, '--levels', '1000')).toContain('--levels: expected 2 to 241, got 1000');
    expect(await refused('harmonics-level', '--setting', settingPath, '--from-dbu', '5', '--to-dbu', '4', '--svg', svgPath)).toContain('expected a highest above the lowest');
    expect(await refused('harmonics-level', '--setting', settingPath, '--stage', '9')).toContain('--stage: expected a number from 1 to 3, got 9');
    expect(await refused('harmonics-level', '--circuit', circuitPath, '--stage', '1')).toContain('a circuit document, which is one stage');
    expect(await refused('harmonics-level', '--setting', settingPath, '--json', '--csv')).toContain('expected --json or --csv, got both');
    expect(await refused('loop-added', '--setting', settingPath)).toContain('expected --in, got nothing');
    const out = inFolder('out.json');
    const { path } = openingSetting();
    writeFileSync(out, writeSetting({ ...openingSetting(), path: { ...path, stages: path.stages.map((stage) => ({ ...stage, inCircuit: false })) } }));
    expect(await refused('harmonics-level', '--setting', out)).toContain('No stage is in circuit');
    expect(existsSync(svgPath)).toBe(false);
  });
});

describe('stagebench sweep over threads', () => {
  const built = inFolder('built');
  const longPath = inFolder('long.json');
  writeFileSync(longPath, writeSetting({ ...openingSetting(), path: pathOf(['op-amp-integrated']) }));
  beforeAll(async () => {
    await build({ configFile: fileURLToPath(new URL('../../ui/command-line/vite.config.ts', import.meta.url)), logLevel: 'error', build: { outDir: built } });
  }, 60_000);

  const figures = (workers: number): string => {
    const { status, stdout, stderr } = spawnSync(process.execPath, [join(built, 'stagebench.mjs'), 'sweep', 'harmonics-level', '--setting', longPath, '--levels', '61', '--highest-order', '3', '--workers', String(workers), '--json'], { encoding: 'utf8' });
    expect([status, stderr]).toEqual([0, '']);
    return stdout;
  };

  it('prints the same to the bit by one thread or three', () => {
    expect(figures(3)).toBe(figures(1));
  }, 60_000);
});
