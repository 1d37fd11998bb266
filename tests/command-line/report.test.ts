import { writeFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { supply } from '../../dsp/path/index.ts';
import { openingSetting, writeSetting, type Setting } from '../../dsp/setting/index.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();

function fileOf(name: string, change: (setting: Setting) => Setting = (setting) => setting): string {
  const path = inFolder(name);
  writeFileSync(path, writeSetting(change(openingSetting())));
  return path;
}

const withSupply = (setting: Setting, noise: string): Setting =>
  ({ ...setting, path: { ...setting.path, supply: { ...Object.fromEntries(supply.parameters.map(({ id, default: value }) => [id, value])), noise } } });

interface Report {
  readonly title: string;
  readonly stages: readonly { readonly place: number; readonly stage: string; readonly inCircuit: boolean; readonly readings: readonly { readonly label: string; readonly value: number }[]; readonly remarks: readonly object[] }[];
  readonly headroom: { readonly stages: readonly { readonly title: string; readonly levelDbu: number; readonly levelDbfs: number; readonly clipMarginDb: number | null; readonly rails: readonly object[] }[]; readonly first: { readonly title: string; readonly marginDb: number } };
  readonly noise: { readonly on: boolean; readonly outputDbu: number; readonly stages: readonly { readonly title: string; readonly noise: { readonly outputDbu: number; readonly dynamicRangeDb: number; readonly largest: readonly { readonly component: string }[] } | null }[] };
  readonly supply: { readonly on: boolean; readonly rails: readonly { readonly volts: number; readonly amperes: number }[]; readonly rippleDbu: number };
}

async function reported(path: string): Promise<Report> {
  const { exitCode, stdout } = await run('report', '--setting', path, '--json');
  expect(exitCode).toBe(0);
  return JSON.parse(stdout) as Report;
}

describe('stagebench report', () => {
  it('tells machines of stages, headroom, noise and supply', async () => {
    const report = await reported(fileOf('opening.json'));
    expect(Object.keys(report)).toEqual(expect.arrayContaining(['title', 'baseRateHz', 'oversamplingFactor', 'stages', 'headroom', 'noise', 'supply']));
    expect(report.stages.map(({ place, stage }) => [place, stage])).toEqual([[1, 'single-ended-bipolar'], [2, 'push-pull'], [3, 'harmonic-shaping']]);
    const collector = report.stages[0]!.readings.find(({ label }) => label === 'collector current')!;
    // The default design's operating point, 5 mA.
    expect(!(Math.abs(collector.value - 5.04e-3) <= 0.05e-3)).toBe(false);
    for (const { levelDbu, levelDbfs } of report.headroom.stages) expect(!(Math.abs(levelDbu - 24 - levelDbfs) <= 1e-9)).toBe(false);
    expect(report.headroom.first.title).toBe('1 Single-ended stage, bipolar');
    expect(report.headroom.first.marginDb).toBe(report.headroom.stages[0]!.clipMarginDb);
    expect([report.noise.on, report.supply.on]).toEqual([false, false]);
    expect(report.noise.stages.map(({ noise }) => noise === null)).toEqual([false, false, true]);
    const [first] = report.noise.stages;
    expect(first!.noise!.largest).toHaveLength(3);
    // Clip level less noise.
    const clip = report.headroom.stages[0]!.levelDbu + report.headroom.stages[0]!.clipMarginDb!;
    expect(!(Math.abs(first!.noise!.dynamicRangeDb - (clip - first!.noise!.outputDbu)) <= 1e-9)).toBe(false);
    expect(report.supply.rails.map(({ volts }) => volts)).toEqual([24, 18, -18]);
    expect(report.supply.rippleDbu).toBeLessThan(-60);
  });

  it('tells people the same in tables and sentences', async () => {
    const { exitCode, stdout } = await run('report', '--setting', fileOf('people.json'));
    expect(exitCode).toBe(0);
    expect(stdout).toMatch(/^Stages$/m);
    expect(stdout).toMatch(/^ {2}collector current +5\.\d+ mA$/m);
    expect(stdout).toMatch(/^ {2}level at its output +\+4\.\d+ dBu {3}−20 dBFS$/m);
    expect(stdout).toMatch(/^1 Single-ended stage, bipolar runs out first: 13\.\d dB left to its clip point$/m);
    expect(stdout).toMatch(/^1 Single-ended stage, bipolar: noise comes from: RP2, thermal noise \(\d+ %\); /m);
    expect(stdout).toMatch(/^rail of −18 V$/m);
    expect(stdout).toMatch(/^not modelled: sag and ripple that follow the signal/m);
  });

  it('gives one line a figure with --csv, five cells each', async () => {
    const { stdout } = await run('report', '--setting', fileOf('csv.json'), '--csv');
    const lines = stdout.trim().split('\r\n');
    expect(lines[0]).toBe('section,about,figure,value,unit');
    expect(lines.length).toBeGreaterThan(40);
    for (const line of lines.slice(1)) {
      const cells = line.split(',');
      expect(cells).toHaveLength(5);
      expect(cells[3] === '' || Number.isFinite(Number(cells[3]))).toBe(true);
    }
    expect(lines.filter((line) => /^noise,path,noise at its output,-\d+\.\d+,dBu$/.test(line))).toHaveLength(1);
  });

  it('says whether noise and ripple are on, and which stage is out of circuit', async () => {
    const path = fileOf('on.json', (setting) => withSupply({ ...setting, path: { ...setting.path, stages: setting.path.stages.map((stage, k) => ({ ...stage, inCircuit: k !== 1 })) } }, 'on'));
    const report = await reported(path);
    expect([report.noise.on, report.supply.on]).toEqual([true, true]);
    expect(report.noise.stages).toHaveLength(2);
    expect(report.supply.rails.map(({ volts }) => volts)).toEqual([24]);
    expect(report.stages.map(({ inCircuit }) => inCircuit)).toEqual([true, false, true]);
    expect((await run('report', '--setting', path)).stdout).toMatch(/^2 Push-pull stage: out of circuit$/m);
  });

  it('refuses what it is not given', async () => {
    expect(await run('report')).toMatchObject({ exitCode: 2, stderr: 'stagebench: report: expected --setting, got nothing; see stagebench report --help\n' });
    expect((await run('report', '--setting', inFolder('nowhere.json'))).stderr).toMatch(/nowhere\.json: expected a file, found none/);
    expect((await run('report', '--setting', fileOf('both.json'), '--json', '--csv')).stderr).toMatch(/expected --json or --csv, got both/);
    expect((await run('report', '--help')).stdout).toMatch(/^report {4}--setting FILE/);
    expect(await run('help')).toEqual(await run('--help'));
    expect(await run('help', 'report')).toEqual(await run('report', '--help'));
    expect((await run('--help')).stdout).toMatch(/^ {2}report {4}--setting FILE/m);
  });
});

describe('stagebench measure', () => {
  it('marks harmonics under the noise where the noise is on, and nowhere else', async () => {
    const measured = async (path: string): Promise<{ harmonics: { order: number; underNoise?: boolean }[] }> =>
      JSON.parse((await run('measure', '--setting', path, '--frequency', '1000', '--peak-volts', '0.001', '--json')).stdout) as { harmonics: { order: number; underNoise?: boolean }[] };
    const off = await measured(fileOf('off.json', (setting) => withSupply(setting, 'off')));
    expect(off.harmonics.every((harmonic) => !('underNoise' in harmonic))).toBe(true);
    const on = await measured(fileOf('on.json', (setting) => withSupply(setting, 'on')));
    const marked = on.harmonics.filter(({ underNoise }) => underNoise === true).map(({ order }) => order);
    expect(marked.length).toBeGreaterThan(0);
    const { stdout } = await run('measure', '--setting', inFolder('on.json'), '--frequency', '1000', '--peak-volts', '0.001');
    expect(stdout).toMatch(new RegExp(`^H${marked[0]!} .*under the noise$`, 'm'));
    // Louder, the strong ones stand above it.
    const { stdout: loud } = await run('measure', '--setting', inFolder('on.json'), '--frequency', '1000', '--peak-volts', '1.7');
    expect(loud).not.toMatch(/^H2 .*noise/m);
    expect(loud).toMatch(/^H5 .*harsh$/m);
  });
});
