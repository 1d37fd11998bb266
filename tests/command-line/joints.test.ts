import { readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { numericsVersion, openingSetting, parseSetting, writeExpectation, writeSetting } from '../../dsp/setting/index.ts';
import type { Setting } from '../../dsp/setting/index.ts';
import { pathOf } from '../path/support.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();
const settingPath = inFolder('pair.json');
const pair: Setting = { ...openingSetting(), title: 'pair', path: pathOf(['single-ended-bipolar', 'push-pull', 'line', 'harmonic-shaping']) };
writeFileSync(settingPath, writeSetting(pair));

describe('stagebench joints', () => {
  it('tells each joint of two circuits, and stores what it found', async () => {
    const out = inFolder('probed.json');
    const { exitCode, stdout } = await run('joints', '--setting', settingPath, '--out', out);
    expect(exitCode).toBe(0);
    expect(stdout).toMatch(/^2 push-pull +joined \(0\.01\d dB between the two ways\)$/m);
    expect(stdout).toMatch(/^3 line +(joined|apart) \(/m);
    expect(stdout).toMatch(/^4 shaping$/m);
    const { joints, path } = parseSetting(readFileSync(out, 'utf8'));
    expect(path).toEqual(pair.path);
    expect(joints!.map((joint) => joint?.joined ?? null).slice(0, 2)).toEqual([null, true]);
    const { stdout: json } = await run('joints', '--setting', settingPath, '--json');
    expect(JSON.parse(json)).toEqual({ joints, refused: [] });
  });

  it('moves the harmonics that are measured, and none where nothing is joined', async () => {
    const figures = async (file: string) => JSON.parse((await run('measure', '--setting', file, '--frequency', '1000', '--peak-volts', '6', '--json')).stdout) as { harmonics: { db: number }[] };
    const [apart, joined] = [await figures(settingPath), await figures(inFolder('probed.json'))];
    // 18 dB above what a tone of +4 dBu is: there the pair draws from its driver on one side only.
    expect(Math.abs(apart.harmonics[0]!.db - joined.harmonics[0]!.db)).toBeGreaterThan(0.05);
    expect(apart).toEqual(await figures(settingPath));
  });

  it('whose verdicts moved are told by check', async () => {
    const probed = parseSetting(readFileSync(inFolder('probed.json'), 'utf8'));
    const folder = workFolder();
    const put = (joints: Setting['joints']) => {
      writeFileSync(folder('moved.json'), writeSetting({ ...probed, joints }));
      writeFileSync(folder('moved.expected.json'), writeExpectation({ numerics: numericsVersion, harmonics: [], renders: [] }));
    };
    put(probed.joints);
    expect((await run('check', folder('.'))).exitCode).toBe(0);
    put(probed.joints!.map((joint) => joint && { ...joint, joined: false, differenceDb: 0.001 }));
    const { exitCode, stdout } = await run('check', folder('.'));
    expect(exitCode).toBe(1);
    expect(stdout).toMatch(/moved {2}joint before stage 2: expected apart \(0\.001 dB between the two ways\), now joined \(0\.01\d dB between the two ways\)/);
  });
});
