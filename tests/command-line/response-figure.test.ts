import { readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { openingSetting, writeSetting } from '../../dsp/setting/index.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();

const corner = inFolder('corner.json');
writeFileSync(corner, JSON.stringify({
  format: 'stagebench/circuit', version: 1, title: 'corner',
  components: [
    { kind: 'input', name: 'IN', between: ['in', 'ground'] },
    { kind: 'resistor', name: 'R', between: ['in', 'out'], ohms: 1000 },
    { kind: 'capacitor', name: 'C', between: ['out', 'ground'], farads: 1 / (2 * Math.PI * 1e7) },
  ],
  output: ['out', 'ground'],
}));

describe('stagebench response as a figure', () => {
  it('says where a corner is, with its table as CSV and its drawing as a file', async () => {
    const svg = inFolder('corner.svg');
    const { exitCode, stdout } = await run('response', '--circuit', corner, '--from', '100', '--to', '100k', '--per-octave', '3', '--svg', svg);
    expect(exitCode).toBe(0);
    // 3 dB below 1 kHz: 10 kHz · √(2 (1 + 0.01) − 1) = 10.1 kHz.
    expect(stdout).toMatch(/3 dB down at 10\.1 kHz/);
    expect(readFileSync(svg, 'utf8')).toMatch(/^<svg|^<\?xml/);
    const csv = (await run('response', '--circuit', corner, '--from', '100', '--to', '100k', '--per-octave', '3', '--csv')).stdout;
    expect(csv.split('\n').filter((line) => /^100000,/.test(line))).toHaveLength(1);
  });

  it('gives impedance and loop gain, and refuses what does not go together', async () => {
    expect((await run('response', '--circuit', corner, '--figure', 'impedance', '--per-octave', '1')).stdout).toMatch(/Input 15\.95 kΩ|resistance 1 kΩ/);
    const setting = inFolder('opening.json');
    writeFileSync(setting, writeSetting(openingSetting()));
    for (const [args, sentence] of [
      [['--setting', setting, '--figure', 'loop-gain'], /No stage in circuit has a loop of feedback/],
      [['--circuit', corner, '--figure', 'loudness'], /--figure: expected one of response, impedance, loop-gain, got loudness/],
      [['--circuit', corner, '--frequencies', '1000', '--to', '5k'], /--to belongs to a figure/],
      [['--circuit', corner, '--exact'], /--exact goes with --frequencies/],
      [['--circuit', corner, '--figure', 'impedance', '--reference', 'absolute'], /takes no --reference/],
    ] as const) {
      const { exitCode, stderr } = await run('response', ...args);
      expect(exitCode, stderr).toBe(2);
      expect(stderr).toMatch(sentence);
    }
  });
});
