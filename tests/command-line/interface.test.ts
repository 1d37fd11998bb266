import { writeFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { surroundings } from '../../dsp/path/index.ts';
import { openingSetting, writeSetting } from '../../dsp/setting/index.ts';
import { defaultValues } from '../../dsp/stages/index.ts';
import { pathOf } from '../path/support.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();
const settingPath = inFolder('loaded.json');
const path = pathOf(['push-pull', 'single-ended-bipolar'], { surroundings: { ...defaultValues(surroundings), sourceOhms: 600, loadOhms: 600 } });
writeFileSync(settingPath, writeSetting({ ...openingSetting(), path }));

interface Figures {
  readonly response: readonly { hz: number; without: number; itself: number; inPlace: number; interface: number }[];
  readonly harmonics: readonly { order: number }[];
  readonly words: readonly string[];
}

describe('stagebench interface', () => {
  it('tells the whole path from its interface, for people and for machines', async () => {
    const { exitCode, stdout } = await run('interface', '--setting', settingPath);
    expect(exitCode).toBe(0);
    expect(stdout).toMatch(/^the whole path\n +without +itself +in place +interface\n20 Hz, dB +-6\.0\d\d /);
    expect(stdout).toMatch(/\nNot the path but its interface makes [^\n]+\.\n$/);
    const figures = JSON.parse((await run('interface', '--setting', settingPath, '--json')).stdout) as Figures;
    expect(figures.response.map(({ hz }) => hz)).toEqual([20, 1000, 20_000]);
    for (const { without, itself, inPlace, interface: own } of figures.response) expect(without + itself + own).toBeCloseTo(inPlace, 9);
    expect(figures.harmonics.map(({ order }) => order)).toEqual([2, 3]);
    expect(figures.words).toHaveLength(1);
    const { stdout: csv } = await run('interface', '--setting', settingPath, '--csv');
    expect(csv.split('\r\n').map((line) => line.split(',').length)).toEqual([5, 5, 5, 5, 5, 5]);
  });

  it('tells one stage from its interface, and refuses one that is not there', async () => {
    expect((await run('interface', '--setting', settingPath, '--stage', '2')).stdout).toMatch(/^stage 2, Single-ended stage, bipolar\n/);
    const { exitCode, stderr } = await run('interface', '--setting', settingPath, '--stage', '3');
    expect([exitCode, stderr]).toEqual([2, 'stagebench: --stage: expected a number from 1 to 2, got 3\n']);
  });
});
