import { createHash } from 'node:crypto';
import { copyFileSync, existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { describe, expect, it } from 'vitest';
import { SeededRandom } from '../../dsp/math/index.ts';
import { PathRunner, planPath, renderInSteps } from '../../dsp/path/index.ts';
import { encodeWholeWav, parseWholeRecording, sampleEncodings } from '../../dsp/recording/index.ts';
import type { WavSamples } from '../../dsp/recording/index.ts';
import { openingSetting, stageRules, writeEvents, writeSetting } from '../../dsp/setting/index.ts';
import type { Setting } from '../../dsp/setting/index.ts';
import { hashedBytes } from '../../ui/command-line/recording-files.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();
const settingPath = inFolder('opening.json');
writeFileSync(settingPath, writeSetting(openingSetting()));

/** Seeded noise at about −20 dBFS. */
function writeNoise(name: string, samples: WavSamples, frames: number): { path: string; channels: readonly Float64Array[] } {
  const random = new SeededRandom(20261125);
  const channels = Array.from({ length: samples.channelCount }, () => Float64Array.from({ length: frames }, () => 0.1 * random.nextGaussian()));
  const bytes = encodeWholeWav(samples, channels, { clippedSamples: 0, notNumberSamples: 0 });
  const path = inFolder(name);
  writeFileSync(path, bytes);
  return { path, channels: parseWholeRecording(bytes).channels };
}

function directRender(setting: Setting, channels: readonly Float64Array[], rateHz: number, passes = 1): Float64Array[] {
  const steps = renderInSteps(planPath(setting.path, rateHz), channels, { passes });
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

const sha256 = (channels: readonly Float64Array[]) => createHash('sha256').update(hashedBytes(channels, 0, channels[0]!.length)).digest('hex');

describe('stagebench render', () => {
  it('renders a file of twelve stages, more than the page is laid out for', async () => {
    const opening = openingSetting();
    const stages = Array.from({ length: 12 }, (_, k) => ({ ...opening.path.stages[k % 3]!, key: `t${k + 1}` }));
    const twelve: Setting = { ...opening, path: { ...opening.path, stages }, rules: null, joints: null };
    const settingOfTwelve = inFolder('twelve.json');
    writeFileSync(settingOfTwelve, writeSetting(twelve));
    const { path, channels } = writeNoise('for-twelve.wav', { encoding: 'pcm24', channelCount: 1, rateHz: 48_000 }, 1500);
    const out = inFolder('twelve-out.wav');
    const { exitCode } = await run('render', '--setting', settingOfTwelve, '--in', path, '--out', out, '--encoding', 'float64');
    expect(exitCode).toBe(0);
    const written = parseWholeRecording(readFileSync(out)).channels;
    expect(sha256(written)).toBe(sha256(directRender(twelve, channels, 48_000)));
    // All twelve sound: without the last it is another sound.
    const eleven: Setting = { ...twelve, path: { ...twelve.path, stages: stages.slice(0, 11) } };
    expect(sha256(directRender(eleven, channels, 48_000))).not.toBe(sha256(written));
  });

  it('writes the same samples as the path itself gives, whatever the sizes of the pieces, and prints their hash', async () => {
    const { path, channels } = writeNoise('stereo.wav', { encoding: 'pcm24', channelCount: 2, rateHz: 48_000 }, 5000);
    const out = inFolder('stereo-out.wav');
    const { exitCode, stdout } = await run('render', '--setting', settingPath, '--in', path, '--out', out, '--encoding', 'float64', '--json');
    expect(exitCode).toBe(0);
    const expected = directRender(openingSetting(), channels, 48_000);
    const written = parseWholeRecording(readFileSync(out));
    expect(written.channels.map((channel) => channel.length)).toEqual([5000, 5000]);
    expect(sha256(written.channels)).toBe(sha256(expected));
    const report = JSON.parse(stdout) as { sha256: string; rateHz: number };
    expect(report.sha256).toBe(sha256(expected));
    expect(report.rateHz).toBe(48_000);
  });

  it('renders the last of several passes, the state going on across the wrap', async () => {
    const { path, channels } = writeNoise('loop.wav', { encoding: 'float64', channelCount: 1, rateHz: 44_100 }, 3001);
    const out = inFolder('loop-out.wav');
    const { stdout } = await run('render', '--setting', settingPath, '--in', path, '--out', out, '--passes', '3', '--json');
    const expected = sha256(directRender(openingSetting(), channels, 44_100, 3));
    expect((JSON.parse(stdout) as { sha256: string }).sha256).toBe(expected);
    expect(expected).not.toBe(sha256(directRender(openingSetting(), channels, 44_100, 1)));
  });

  it.each(sampleEncodings)('reads and writes %s', async (encoding) => {
    const { path } = writeNoise(`${encoding}.wav`, { encoding, channelCount: 1, rateHz: 48_000 }, 600);
    const out = inFolder(`${encoding}-out.wav`);
    expect((await run('render', '--setting', settingPath, '--in', path, '--out', out)).exitCode).toBe(0);
    expect(parseWholeRecording(readFileSync(out)).format).toMatchObject({ encoding, channelCount: 1, rateHz: 48_000 });
  });

  it('renders at the grade asked for, and tells how each stage was integrated', async () => {
    const { path } = writeNoise('grades.wav', { encoding: 'float64', channelCount: 1, rateHz: 48_000 }, 1500);
    const graded = async (grade: string) => {
      const { stdout } = await run('render', '--setting', settingPath, '--in', path, '--out', inFolder(`${grade}.wav`), '--grade', grade, '--json');
      return JSON.parse(stdout) as { sha256: string; stages: { stage: string; inCircuit: boolean; rule: string | null; errorDb: number | null }[] };
    };
    const [listening, measuring] = [await graded('listening'), await graded('measuring')];
    expect(measuring.sha256).not.toBe(listening.sha256);
    for (const [grade, { stages }] of [['listening', listening], ['measuring', measuring]] as const) {
      const { path: opening } = openingSetting();
      const rules = stageRules(opening, planPath(opening, 48_000, { grade }));
      expect(stages).toEqual(opening.stages.map(({ stage, inCircuit }, k) => ({ stage, inCircuit, rule: rules[k]?.rule ?? null, errorDb: rules[k]?.errorDb ?? null })));
      expect(stages.map(({ rule }) => rule !== null)).toEqual([true, true, false]);
    }
    const { stdout } = await run('render', '--setting', settingPath, '--in', path, '--out', inFolder('told.wav'));
    expect(stdout).toMatch(/^1 single-ended-bipolar: integrated as T\d+, error at 10 kHz (under )?0\.\d+ dB$/m);
  });

  it('renders a logged performance again: what PathRunner gave, frame for frame', async () => {
    const { path, channels } = writeNoise('log.wav', { encoding: 'float64', channelCount: 1, rateHz: 48_000 }, 4000);
    const { path: opening } = openingSetting();
    const [first, second, third] = opening.stages;
    const turned = { ...opening, stages: [first!, { ...second!, values: { ...second!.values, quiescentAmperes: 0.0026 } }, third!] };
    const frames = 6400;
    const events = inFolder('changes.json');
    writeFileSync(events, writeEvents({
      programme: 'noise', rateHz: 48_000, frames,
      changes: [
        { frame: 0, kind: 'path', stages: opening.stages, surroundings: null, supply: null, joints: null, onTrial: { kind: 'path' } },
        { frame: 0, kind: 'match', inGain: 0.9, outGain: 1 },
        { frame: 0, kind: 'position', positionFrame: 500, startFrame: 0, endFrame: 4000 },
        { frame: 1664, kind: 'values', stageIndex: 1, values: { quiescentAmperes: 0.0026 } },
        { frame: 3008, kind: 'switch', trialIn: false },
        { frame: 5000, kind: 'position', positionFrame: 20, startFrame: 0, endFrame: 4000 },
      ],
    }));
    const out = inFolder('log-out.wav');
    expect((await run('render', '--setting', settingPath, '--in', path, '--out', out, '--events', events)).exitCode).toBe(0);
    const replayed = parseWholeRecording(readFileSync(out)).channels[0]!;

    // The same by hand, in blocks of another size, as the audio thread would do it.
    const runner = new PathRunner(planPath(opening, 48_000), 1, 64);
    runner.setMatchGains({ inGain: 0.9, outGain: 1 });
    runner.reset();
    const played: number[] = [];
    const output = [new Float64Array(64)];
    let position = 500;
    for (let frame = 0; frame < frames + runner.latencyFrames; frame += 8) {
      if (frame === 1664) runner.swap(planPath(turned, 48_000));
      if (frame === 3008) runner.setTrialIn(false);
      if (frame === 5000) position = 20;
      const input = Float64Array.from({ length: 8 }, (_, i) => (frame + i < frames ? channels[0]![(position + i) % 4000]! : 0));
      position = (position + 8) % 4000;
      runner.process([input], output, 8);
      played.push(...output[0]!.subarray(0, 8));
    }
    expect(replayed.length).toBe(frames);
    expect(sha256([replayed])).toBe(sha256([Float64Array.from(played.slice(runner.latencyFrames, runner.latencyFrames + frames))]));
  });

  it.each([
    ['truncated', (bytes: Uint8Array) => bytes.subarray(0, bytes.length - 300), /the file ends after/],
    ['foreign', () => new TextEncoder().encode('these are not the samples you wanted, nor any'), /expected a WAV, AIFF or FLAC file, got one that begins with "thes"/],
    ['empty', () => new Uint8Array(0), /expected a WAV, AIFF or FLAC file, the file ends after 0 bytes/],
  ])('refuses a %s recording with one sentence and writes nothing', async (name, spoil, sentence) => {
    const { path } = writeNoise(`${name}.wav`, { encoding: 'pcm16', channelCount: 2, rateHz: 48_000 }, 2000);
    writeFileSync(path, spoil(readFileSync(path)));
    const before = readdirSync(dirname(path)).sort();
    const { exitCode, stderr } = await run('render', '--setting', settingPath, '--in', path, '--out', inFolder(`${name}-out.wav`));
    expect(exitCode).toBe(2);
    expect(stderr).toMatch(sentence);
    expect(stderr.trim().split('\n')).toHaveLength(1);
    expect(readdirSync(dirname(path)).sort()).toEqual(before);
  });

  it('leaves an existing output as it was when it fails', async () => {
    const { path } = writeNoise('short.wav', { encoding: 'pcm16', channelCount: 1, rateHz: 48_000 }, 2000);
    writeFileSync(path, readFileSync(path).subarray(0, 2000));
    const out = inFolder('kept.wav');
    writeFileSync(out, 'kept');
    expect((await run('render', '--setting', settingPath, '--in', path, '--out', out)).exitCode).toBe(2);
    expect(readFileSync(out, 'utf8')).toBe('kept');
  });
});

describe('stagebench check', () => {
  const folder = inFolder('checked');
  mkdirSync(folder);
  const settingFile = `${folder}/hall.setting.json`;
  const expectationFile = `${folder}/hall.expected.json`;
  copyFileSync(settingPath, settingFile);

  it('fails a setting without an expectation, writes one when asked, then passes', async () => {
    const without = await run('check', folder);
    expect(without.exitCode).toBe(1);
    expect(without.stdout).toContain('expected hall.expected.json beside it, found none');
    expect((await run('check', folder, '--record')).exitCode).toBe(0);
    expect(existsSync(expectationFile)).toBe(true);
    expect((await run('check', folder)).exitCode).toBe(0);
  });

  it('says which orders moved and by how much', async () => {
    const setting = openingSetting();
    const [first, second, third] = setting.path.stages;
    writeFileSync(settingFile, writeSetting({ ...setting, path: { ...setting.path, stages: [first!, { ...second!, values: { ...second!.values, quiescentAmperes: 0.0026 } }, third!] } }));
    const { exitCode, stdout } = await run('check', folder);
    expect(exitCode).toBe(1);
    expect(stdout).toMatch(/moved +200 Hz at 4 dBu, H5: expected -5\d\.\d\d, measured -1\d\d\.\d\d, moved -\d{2,3}\.\d\d dB/);
  });

  it('compares the hash of a render and the null against a reference', async () => {
    copyFileSync(settingPath, settingFile);
    const { path, channels } = writeNoise('checked/programme.wav', { encoding: 'float64', channelCount: 1, rateHz: 48_000 }, 1500);
    expect(existsSync(path)).toBe(true);
    const rendered = directRender(openingSetting(), channels, 48_000);
    writeFileSync(`${folder}/reference.wav`, encodeWholeWav({ encoding: 'float64', channelCount: 1, rateHz: 48_000 }, rendered, { clippedSamples: 0, notNumberSamples: 0 }));
    const expectation = JSON.parse(readFileSync(expectationFile, 'utf8')) as { renders: unknown[] };
    const withHash = (hash: string, maximumNullDb: number) => writeFileSync(expectationFile, JSON.stringify({
      ...expectation, renders: [{ input: 'programme.wav', passes: 1, rateHz: 48_000, sha256: hash, reference: { file: 'reference.wav', maximumNullDb } }],
    }));
    withHash(sha256(rendered), -200);
    expect((await run('check', folder)).exitCode).toBe(0);
    withHash('0'.repeat(64), -200);
    expect((await run('check', folder)).stdout).toContain('hash of programme.wav: expected 0000');
    withHash(sha256(rendered), -200);
    writeFileSync(`${folder}/reference.wav`, encodeWholeWav({ encoding: 'float64', channelCount: 1, rateHz: 48_000 }, [rendered[0]!.map((sample) => 1.001 * sample)], { clippedSamples: 0, notNumberSamples: 0 }));
    // A reference louder by 0.1 % leaves −60 dB.
    expect((await run('check', folder)).stdout).toMatch(/null against reference\.wav: expected at most -200 dB, measured -60\.0 dB/);
  });

  it('holds the rules a setting was frozen with against those chosen now', async () => {
    const rulesFolder = inFolder('rules');
    mkdirSync(rulesFolder);
    const setting = openingSetting();
    const chosen = stageRules(setting.path, planPath(setting.path, setting.baseRateHz));
    const withRules = (rules: Setting['rules']) => writeFileSync(`${rulesFolder}/hall.setting.json`, writeSetting({ ...setting, rules }));
    withRules(chosen);
    expect((await run('check', rulesFolder, '--record')).exitCode).toBe(0);
    expect((await run('check', rulesFolder)).exitCode).toBe(0);
    withRules([chosen[0]!, { rule: chosen[1]?.rule === 'T24' ? 'T1' : 'T24', errorDb: 0.02 }, null]);
    const { exitCode, stdout } = await run('check', rulesFolder);
    expect(exitCode).toBe(1);
    expect(stdout).toMatch(/moved +rule of stage 2: expected integrated as T\d+, error at 10 kHz 0\.02 dB, now (integrated as T\d+, error at 10 kHz .* dB|no rule)\n/);
    expect(stdout).not.toContain('rule of stage 1');
  });

  it('refuses a folder without settings, and one that is not there', async () => {
    const empty = inFolder('empty');
    mkdirSync(empty);
    expect((await run('check', empty)).stderr).toContain('expected at least one setting file (*.json), found none');
    expect((await run('check', inFolder('nowhere'))).exitCode).toBe(2);
  });
});
