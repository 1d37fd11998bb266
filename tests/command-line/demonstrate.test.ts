import { readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { SeededRandom, sha256 } from '../../dsp/math/index.ts';
import { encodeWholeWav, parseWholeRecording } from '../../dsp/recording/index.ts';
import { parseBase64 } from '../../dsp/setting/base64.ts';
import { readySetting, writeSetting } from '../../dsp/setting/index.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();
const settingPath = inFolder('shaping.json');
const ready = readySetting('rehearsal');
writeFileSync(settingPath, writeSetting({ ...ready, path: { ...ready.path, oversamplingFactor: 1 } }));

const loopPath = inFolder('loop.wav');
const random = new SeededRandom(61126);
const samples = { encoding: 'pcm24', channelCount: 1, rateHz: 48_000 } as const;
writeFileSync(loopPath, encodeWholeWav(samples, [Float64Array.from({ length: 72_000 }, () => 0.1 * random.nextGaussian())], { clippedSamples: 0, notNumberSamples: 0 }));

const demonstrate = (...more: string[]) => run('demonstrate', '--setting', settingPath, '--in', loopPath, ...more);

describe('stagebench demonstrate', () => {
  it('writes one page of the region, with the words and the date given, and the same bytes again', async () => {
    const words = inFolder('words.txt');
    writeFileSync(words, 'Warm, says <b>nobody</b>.\n\nListen to the breath.');
    const out = inFolder('page.html');
    const given = ['--region', '0.2-0.8', '--blind', '12', '--title', 'A & B', '--words', words, '--date', '2026-11-26', '--out', out] as const;
    const { exitCode, stdout } = await demonstrate(...given, '--json');
    expect(exitCode).toBe(0);
    const page = readFileSync(out, 'utf8');
    const report = JSON.parse(stdout) as { bytes: number; sha256: string; seconds: number; residualDb: number };
    expect(report).toMatchObject({ seconds: 0.6, rateHz: 48_000, channels: 1, encoding: 'pcm24', blindTrials: 12, out });
    expect(report.sha256).toBe(sha256(readFileSync(out)));
    expect(!(Math.abs(report.residualDb) <= 0.1)).toBe(false);
    expect(page).toContain('<title>A &amp; B</title>');
    expect(page).toContain('Warm, says &lt;b&gt;nobody&lt;/b&gt;.</p>');
    expect(page).toContain('2026-11-26');
    const sound = /id="sound-in">([^<]*)</.exec(page)![1]!;
    expect(parseWholeRecording(parseBase64(sound, 'sound')).channels[0]!.length).toBe(28_800);
    const again = inFolder('again.html');
    expect((await demonstrate(...given.slice(0, -1), again)).stdout).toMatch(/again\.html: \d+\.\d MB, 0\.60 s both ways, mono, pcm24, 48 kHz\nmatched: /);
    expect(readFileSync(again, 'utf8')).toBe(page);
  });

  it('puts a stage on trial by its number and makes the words of the path', async () => {
    const out = inFolder('stage.html');
    expect((await demonstrate('--region', '0-0.5', '--on-trial', '1', '--out', out)).exitCode).toBe(0);
    expect(readFileSync(out, 'utf8')).toMatch(/&quot;In circuit&quot; is with stage 1 Harmonic shaping stage/);
  });

  it.each([
    [['--region', '0.9-0.2'], /--region: expected two times such as 1\.2-3\.4 within 1\.50 s, got 0\.9-0\.2/],
    [['--region', '0-9'], /--region: expected two times/],
    [['--region', '0-0.2'], /--region: expected a region of 0\.4 s or more, got 0\.20 s/],
    [['--on-trial', '7'], /--on-trial: expected path, the number of a stage \(1 to 1\) or a mechanism .*, got 7/],
    [['--blind', '11'], /--blind: expected one of 10, 12, 16, 20, got 11/],
    [['--date', '2026-13-45'], /--date: expected a day such as 2026-11-26, got 2026-13-45/],
    [['--date', 'today'], /--date: expected a day such as 2026-11-26, got today/],
    [['--words', '/nowhere/words.txt'], /\/nowhere\/words\.txt: expected a file, found none/],
  ])('refuses %j in one sentence and writes nothing', async (more, sentence) => {
    const out = inFolder('refused.html');
    const { exitCode, stderr } = await demonstrate(...more, '--out', out);
    expect(exitCode).toBe(2);
    expect(stderr).toMatch(sentence);
    expect(() => readFileSync(out)).toThrow();
  });
});

describe('stagebench report --html', () => {
  it('writes every stage, the harmonics and the checksum on one page without a script', async () => {
    const out = inFolder('report.html');
    const { exitCode } = await run('report', '--setting', settingPath, '--html', out, '--date', '2026-11-26');
    expect(exitCode).toBe(0);
    const page = readFileSync(out, 'utf8');
    expect(page).toContain(sha256(readFileSync(settingPath)));
    expect(page).toContain('1 Harmonic shaping stage');
    expect(page).toContain('<caption>200 Hz at +4 dBu from the source');
    expect(page).not.toMatch(/<script|http:\/\/(?!www\.w3\.org\/2000\/svg)|https:/);
  });
});
