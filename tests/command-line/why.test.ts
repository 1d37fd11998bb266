import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { planPath } from '../../dsp/path/index.ts';
import { encodeWholeWav, parseWholeRecording } from '../../dsp/recording/index.ts';
import { openingSetting, writeSetting } from '../../dsp/setting/index.ts';
import { firstDifference, plucked, renderAll } from '../path/support.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();
const settingPath = inFolder('opening.json');
writeFileSync(settingPath, writeSetting(openingSetting()));
const circuitPath = fileURLToPath(new URL('../circuit/documents/one-transistor.json', import.meta.url));

describe('stagebench why', () => {
  it('names the cause of the opening path\'s harsh harmonics, and how stages cancel', async () => {
    const { exitCode, stdout } = await run('why', '--setting', settingPath, '--frequency', '1000', '--level-dbu', '4', '--highest-order', '5');
    expect(exitCode).toBe(0);
    expect(stdout).toMatch(/^contribution re fundamental +H2, dB +H3, dB +H4, dB +H5, dB$/m);
    expect(stdout).toMatch(/H3 and H5 come mostly from crossover of the output pair, stage 2 \(−4\d\.\d of −4\d\.\d dB, −5\d\.\d of −5\d\.\d dB\)/);
    expect(stdout).toMatch(/^interaction remainder /m);
  });

  it('of one stage, as CSV, as JSON, and its vectors as a picture', async () => {
    const svg = inFolder('why.svg');
    const { exitCode, stdout } = await run('why', '--setting', settingPath, '--stage', '2', '--highest-order', '3', '--order', '3', '--csv', '--svg', svg);
    expect(exitCode).toBe(0);
    expect(stdout).toContain('crossover of the output pair');
    expect(stdout).not.toContain('exponential of Q1, stage 1');
    expect(readFileSync(svg, 'utf8')).toContain('H3 as vectors');
    const json = await run('why', '--setting', settingPath, '--stage', '2', '--highest-order', '3', '--json');
    expect(JSON.parse(json.stdout)).toHaveProperty('tables');
  });

  it('of a circuit document, device by device', async () => {
    const { exitCode, stdout } = await run('why', '--circuit', circuitPath, '--level-dbu', '-40', '--highest-order', '3');
    expect(exitCode).toBe(0);
    expect(stdout).toMatch(/H2 comes mostly from exponential of Q1 \(/);
  });

  it('refuses in a sentence', async () => {
    const linear = inFolder('linear.json');
    writeFileSync(linear, JSON.stringify({ format: 'stagebench/circuit', version: 1, components: [{ kind: 'input', name: 'IN', between: ['a', 'ground'] }, { kind: 'resistor', name: 'R', between: ['a', 'ground'], ohms: 1 }], output: ['a', 'ground'] }));
    expect(await run('why', '--circuit', linear)).toMatchObject({ exitCode: 2, stderr: 'stagebench: Nothing here bends: it is linear and makes no harmonics.\n' });
    expect((await run('why', '--setting', settingPath, '--order', 'H3')).stderr).toMatch(/^stagebench: --order: expected one of strongest, 2, 3, .*, got H3\n$/);
    expect((await run('why', '--setting', settingPath, '--stage', '7')).stderr).toContain('--stage: expected a number from 1 to 3, got 7');
  });
});

describe('stagebench render --without', () => {
  it('gives the samples of the path without the mechanism, as the page plays them out of circuit', async () => {
    const input = [plucked(4000, 0.4)];
    const path = inFolder('in.wav');
    writeFileSync(path, encodeWholeWav({ encoding: 'float64', channelCount: 1, rateHz: 48_000 }, input, { clippedSamples: 0, notNumberSamples: 0 }));
    const out = inFolder('out.wav');
    const { exitCode } = await run('render', '--setting', settingPath, '--in', path, '--out', out, '--without', '2:crossover');
    expect(exitCode).toBe(0);
    const { path: setting } = openingSetting();
    const plan = planPath(setting, 48_000, { onTrial: { kind: 'without', key: setting.stages[1]!.key, mechanism: 'crossover' } });
    expect(firstDifference(parseWholeRecording(readFileSync(out)).channels[0]!, renderAll(plan, input, { trialIn: false })[0]!)).toBe(-1);
  });

  it('answers a wrong name with the right ones', async () => {
    const { exitCode, stderr } = await run('render', '--setting', settingPath, '--in', settingPath, '--out', inFolder('no.wav'), '--without', '2:slewing');
    expect(exitCode).toBe(2);
    expect(stderr).toContain('--without: expected one of 1:exponential, 1:early-effect, 1:saturation, 1:bias-shift, 2:crossover,');
  });
});
