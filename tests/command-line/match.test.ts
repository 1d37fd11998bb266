/** `match` and `render --difference`: gains, differences and what is added, of paths whose answer is known. */
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { encodeWholeWav, parseWholeRecording } from '../../dsp/recording/index.ts';
import { openingSetting, writeSetting, type Setting } from '../../dsp/setting/index.ts';
import { pathOf, plucked, rateHz, sine, toDb, type StageWish } from '../path/support.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();

function settingFile(name: string, wishes: readonly (string | StageWish)[]): string {
  const setting: Setting = { ...openingSetting(), title: name, levelMatch: null, rules: null, joints: null, path: pathOf(wishes, { oversamplingFactor: 2 }) };
  writeFileSync(inFolder(`${name}.json`), writeSetting(setting));
  return inFolder(`${name}.json`);
}

function recording(name: string, channels: readonly Float64Array[]): string {
  writeFileSync(inFolder(name), encodeWholeWav({ encoding: 'float64', channelCount: channels.length === 1 ? 1 : 2, rateHz }, channels, { clippedSamples: 0, notNumberSamples: 0 }));
  return inFolder(name);
}

const loop = recording('loop.wav', [plucked(48_000)]);
const louder = settingFile('louder', [{ stage: 'harmonic-shaping', values: { secondSign: 'off', thirdSign: 'off', makeUpDb: 4 } }]);
const bell = settingFile('bell', [{ stage: 'equaliser', values: { section1Kind: 'bell', section1Hz: 220, section1Db: 6, section1Quality: 3 } }]);
const bending: StageWish = { stage: 'harmonic-shaping', values: { secondSign: 'positive', secondDb: -40, thirdSign: 'off', bandLimitHz: 40e3, referenceDbu: 4 } };
const bent = settingFile('bent', [bending]);
const turned = settingFile('turned', [{ ...bending, reversed: true }]);

describe('match', () => {
  it('gives gains, what is left, and differences of 0 where nothing but a gain differs', async () => {
    const { exitCode, stdout } = await run('match', '--setting', louder, '--in', loop, '--json');
    expect(exitCode).toBe(0);
    const report = JSON.parse(stdout);
    expect(report).toMatchObject({ kind: 'matched', outGainDb: 0, outIsTurned: false });
    expect(Math.abs(report.inGainDb + 4)).toBeLessThan(0.01);
    expect(Math.abs(report.residualDb)).toBeLessThan(1e-3);
    expect(report.latencyFrames).toBeGreaterThan(0);
    // 0.02 dB: the band limit of the branch, 20 kHz and above, is the path's own.
    for (const { nominalHz, differenceDb } of report.differences.bands) if (differenceDb !== null && nominalHz <= 10_000) expect(Math.abs(differenceDb), `${nominalHz} Hz`).toBeLessThan(0.02);
  });

  it('prints them for people, with the band that differs most, and takes a region', async () => {
    const { exitCode, stdout } = await run('match', '--setting', bell, '--in', loop, '--region', '0.1-0.9');
    expect(exitCode).toBe(0);
    expect(stdout).toMatch(/^both sides \d+ frames late, in step; polarity the same$/m);
    expect(stdout).toMatch(/^gains: in -\d\.\d\d dB, out 0\.00 dB; 0\.000 dB left over$/m);
    expect(stdout).toMatch(/^matched, in less out: r\.m\.s\. [+-]\d\.\d\d dB, true peak [+-]\d\.\d\d dB, most at \d+ Hz: [+-]\d\.\d\d dB$/m);
    expect(stdout.split('\n').filter((line) => /^ *[\d.]+ +-\d/.test(line))).toHaveLength(30);
    const tone = recording('tone.wav', [sine(1000, 0.1, 48_000)]);
    expect((await run('match', '--setting', bell, '--in', tone)).stdout).toMatch(/^ +25 .* no signal$/m);
  });

  it('compares two settings, tells that one is upside down, and refuses two kinds of trial at once', async () => {
    const { exitCode, stdout } = await run('match', '--setting', bent, '--against', turned, '--in', loop);
    expect(exitCode).toBe(0);
    expect(stdout).toMatch(/polarity differs, so second is turned upside down/);
    expect(stdout).toMatch(/^gains: first 0\.00 dB, second 0\.00 dB; 0\.000 dB left over$/m);
    const both = await run('match', '--setting', bent, '--against', turned, '--on-trial', '1', '--in', loop);
    expect([both.exitCode, both.stderr]).toEqual([2, 'stagebench: --on-trial: expected nothing beside --against, which puts the two whole paths on trial\n']);
  });

  it('exits 1 where it cannot match, and 2 with what there is for a trial that is none', async () => {
    const silence = recording('silence.wav', [new Float64Array(48_000)]);
    const { exitCode, stdout } = await run('match', '--setting', louder, '--in', silence);
    expect([exitCode, stdout.includes('cannot match: ')]).toEqual([1, true]);
    const wrong = await run('match', '--setting', louder, '--in', loop, '--on-trial', '7');
    expect([wrong.exitCode, wrong.stderr.startsWith('stagebench: --on-trial: expected path, the number of a stage (1 to 1)')]).toEqual([2, true]);
    const beyond = await run('match', '--setting', louder, '--in', loop, '--region', '0.5-3');
    expect([beyond.exitCode, beyond.stderr]).toEqual([2, 'stagebench: --region: expected two times such as 1.2-3.4 within 1.00 s, got 0.5-3\n']);
  });
});

describe('render --difference', () => {
  const tones = recording('tones.wav', [sine(1000, 0.05, 28_800).map((sample, i) => sample + 0.05 * Math.sin((2 * Math.PI * 700 * i) / rateHz))]);
  const rms = (samples: Float64Array): number => Math.sqrt(samples.reduce((sum, sample) => sum + sample * sample, 0) / samples.length);

  it('writes what is added, raised by the gain it prints', async () => {
    const out = inFolder('added.wav');
    const { exitCode, stdout } = await run('render', '--setting', bent, '--in', tones, '--out', out, '--difference', '--json');
    expect(exitCode).toBe(0);
    const report = JSON.parse(stdout);
    const written = parseWholeRecording(readFileSync(out)).channels[0]!;
    const heardDb = toDb(rms(written)) - report.raiseDb;
    // A second harmonic of −40 dB at +4 dBu (0.1 at full scale +24): 2 h A0 (x/A0)² of two tones, √(1/8 + 1/8 + 1/2 + 1/2).
    expect(Math.abs(heardDb - toDb(2 * 0.01 * 0.1 * 0.25 * Math.sqrt(1.25)))).toBeLessThan(0.1);
    expect(Math.abs(heardDb - toDb(0.05) - report.belowDb)).toBeLessThan(0.05);
    const less = await run('render', '--setting', bent, '--in', tones, '--out', out, '--difference', '--raise', '12');
    expect(less.stdout).toMatch(/^difference, raised by 12 dB: 39\.\d dB under what is heard with it; at \d+ dB as loud$/m);
    expect(Math.abs(toDb(rms(parseWholeRecording(readFileSync(out)).channels[0]!)) - 12 - heardDb)).toBeLessThan(0.01);
  });

  it('refuses to be louder than the programme, and writes nothing where nothing is added', async () => {
    const out = inFolder('nothing.wav');
    const loud = await run('render', '--setting', bent, '--in', tones, '--out', out, '--difference', '--raise', '90');
    expect([loud.exitCode, /^stagebench: --raise: expected at most \d+ dB, at which it is as loud as the programme, got 90 dB$/m.test(loud.stderr)]).toEqual([2, true]);
    const linear = await run('render', '--setting', bell, '--in', tones, '--out', out, '--difference');
    expect([linear.exitCode, linear.stderr.includes('nothing to hear: what is left lies ')]).toEqual([1, true]);
    expect(existsSync(out)).toBe(false);
    const empty = recording('empty.wav', [new Float64Array(0)]);
    expect(await run('render', '--setting', bent, '--in', empty, '--out', out, '--difference')).toMatchObject({ exitCode: 2, stderr: `stagebench: ${empty}: expected samples, got none\n` });
    const silent = recording('silence.wav', [new Float64Array(48_000)]);
    const silence = await run('render', '--setting', bent, '--in', silent, '--out', out, '--difference');
    expect(silence).toMatchObject({ exitCode: 2, stderr: expect.stringContaining(`stagebench: ${silent}: the loop: expected music above −120 dBFS`) as string });
    const stray = await run('render', '--setting', bent, '--in', tones, '--out', out, '--raise', '3');
    expect([stray.exitCode, stray.stderr]).toEqual([2, 'stagebench: --raise: expected beside --difference alone\n']);
  });
});
