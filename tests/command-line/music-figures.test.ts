/** Figures of the music in a terminal: what the path adds to a loop, and its spectrum. */
import { writeFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { encodeWholeWav } from '../../dsp/recording/index.ts';
import { openingSetting, writeSetting } from '../../dsp/setting/index.ts';
import { pathOf, plucked, rateHz } from '../path/support.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();
const [settingFile, loopFile, silenceFile] = ['setting.json', 'loop.wav', 'silence.wav'].map(inFolder) as [string, string, string];
const wavOf = (channels: Float64Array[]): Uint8Array => encodeWholeWav({ encoding: 'float32', channelCount: 1, rateHz }, channels, { clippedSamples: 0, notNumberSamples: 0 });
writeFileSync(settingFile, writeSetting({ ...openingSetting(), path: pathOf([{ stage: 'harmonic-shaping', values: { secondDb: -40, thirdSign: 'off' } }], { oversamplingFactor: 2 }), rules: null, joints: null, levelMatch: null }));
writeFileSync(loopFile, wavOf([plucked(24_000)]));
writeFileSync(silenceFile, wavOf([new Float64Array(24_000)]));

const sweep = (...words: string[]) => run('sweep', ...words, '--setting', settingFile);

describe('sweep loop-added', () => {
  it('gives moments, bands and ways of telling what is linear, as text and as data', async () => {
    const text = await sweep('loop-added', '--in', loopFile, '--bands', 'octave');
    expect(text.exitCode).toBe(0);
    expect(text.stdout).toContain('What the path adds to the music, whole path, loop.wav');
    expect(text.stdout).toMatch(/From 0\.00 to 0\.50 s −\d+\.\d dB re the music is added/);
    const { stdout } = await sweep('loop-added', '--in', loopFile, '--linear-part', 'region', '--json');
    const data = JSON.parse(stdout) as { readonly tables: readonly unknown[] };
    expect(data.tables).toHaveLength(3);
  });

  it('wants a loop with music in it', async () => {
    const without = await sweep('loop-added');
    expect([without.exitCode, without.stdout]).toEqual([2, '']);
    expect(without.stderr).toContain('--in');
    const silent = await sweep('loop-added', '--in', silenceFile);
    expect(silent.exitCode).toBe(2);
    expect(silent.stderr).toContain('expected music above −120 dBFS, got silence');
    const wrong = await sweep('loop-added', '--in', loopFile, '--moment-seconds', '1 s');
    expect(wrong.stderr).toContain('--moment-seconds: expected 20 ms to 50 ms, got 1 s');
  });
});

describe('sweep spectrum', () => {
  it('is of the loop through the path', async () => {
    const { exitCode, stdout } = await sweep('spectrum', '--in', loopFile, '--size', '32768', '--tapped', 'input');
    expect(exitCode).toBe(0);
    expect(stdout).toContain('The loop, rendered, at the input: strongest at 220 Hz');
  });
});
