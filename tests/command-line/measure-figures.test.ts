import { readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { writeCircuitDocument } from '../../dsp/circuit/index.ts';
import { openingSetting, writeSetting } from '../../dsp/setting/index.ts';
import { unstableOpAmpLoop } from '../support/unstable.ts';
import { pathOf } from '../path/support.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();
const setting = inFolder('setting.json');
writeFileSync(setting, writeSetting({ ...openingSetting(), path: pathOf(['harmonic-shaping', 'push-pull', { stage: 'single-ended-bipolar', inCircuit: false }]) }));

interface Data {
  readonly title: string;
  readonly tables: readonly { readonly rows: readonly unknown[] }[];
}

describe('stagebench measure with a figure', () => {
  it('prints single figures as a table, with conventions and sources', async () => {
    const { exitCode, stdout } = await run('measure', '--setting', setting, '--figures', '--level-dbu', '10', '--highest-order', '5');
    expect(exitCode).toBe(0);
    expect(stdout).toContain('Single figures, 1 kHz at +10.0 dBu, whole path');
    expect(stdout).toMatch(/^THD, F .*orders 2 to 5, over the fundamental/m);
    expect(stdout).toMatch(/^THD\+N .*behind a notch of Q 2.*AES17-2015/m);
  });

  it('prints intermodulation of a stage, by every machine form, and draws it', async () => {
    const svg = inFolder('twin.svg');
    const asked = ['measure', '--setting', setting, '--stage', 's1', '--intermodulation', 'twin-19-20', '--svg', svg] as const;
    const json = await run(...asked, '--json');
    expect(json.exitCode).toBe(0);
    expect((JSON.parse(json.stdout) as Data).title).toContain('twin tone, 19 and 20 kHz');
    const csv = await run(...asked, '--csv');
    expect(csv.stdout).toMatch(/^"second order, over both tones",0\.02/m);
    expect(readFileSync(svg, 'utf8')).toMatch(/^<(\?xml|svg)/);
  });

  it('takes a level below 0 dBu as one more word', async () => {
    expect((await run('measure', '--setting', setting, '--figures', '--level-dbu', '-12.5')).stdout).toContain('1 kHz at −12.5 dBu');
  });

  it('measures a circuit document, and says of one that oscillates that there is nothing to measure', async () => {
    const path = inFolder('unstable.json');
    writeFileSync(path, writeCircuitDocument(unstableOpAmpLoop(1e-6)));
    const { exitCode, stderr, stdout } = await run('measure', '--circuit', path, '--figures', '--level-dbu', '-40');
    expect(exitCode).toBe(2);
    expect(stdout).toBe('');
    expect(stderr).toMatch(/oscillates or is bistable/);
  });

  it.each<[string[], RegExp]>([
    [['--figures', '--multitone'], /expected one of --intermodulation, --multitone and --figures, got --multitone and --figures/],
    [['--intermodulation', 'smpte'], /--intermodulation: expected one of smpte-60-7000, .*dim-100, got smpte/],
    [['--intermodulation', 'dim-30', '--steps', 'fine'], /--steps: expected one of internal, finer, got fine/],
    [['--figures', '--steps', 'finer'], /--figures does not take --steps/],
    [['--multitone', '--frequency', '1000'], /--multitone does not take --frequency/],
    [['--intermodulation', 'dim-30', '--through-ladder'], /--intermodulation does not take --through-ladder/],
    [['--figures', '--level-dbu', '99'], /--level-dbu: expected −60(\.0)? dBu to \+30(\.0)? dBu, got \+99(\.0)? dBu/],
    [['--figures', '--stage', 's9'], /--stage: expected a number from 1 to 3, got s9/],
    [['--figures', '--stage', 's3'], /out of circuit/],
    [['--frequency', '1000', '--peak-volts', '1', '--svg', 'x.svg'], /--svg belongs to/],
    [['--figures', '--svg', 'x.svg'], /table alone/],
  ])('%j: one sentence, exit 2', async (words, sentence) => {
    const { exitCode, stderr, stdout } = await run('measure', '--setting', setting, ...words);
    expect(stderr).toMatch(sentence);
    expect(exitCode).toBe(2);
    expect(stdout).toBe('');
    expect(stderr.trim().split('\n')).toHaveLength(1);
  });
});
