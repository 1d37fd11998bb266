import { writeFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { encodeWholeWav } from '../../dsp/recording/index.ts';
import { harmonicsOf, passThrough, type SyntheticDevice } from '../support/synthetic-device.ts';
import { run, workFolder } from './support.ts';

const inFolder = workFolder();
const rateHz = 48_000;
const frames = 3 * rateHz;
const device: SyntheticDevice = { coefficients: [0.001, 1, 0.02, 0.01], noiseRms: 1e-6 };

function recorded(name: string, channels: readonly Float64Array[]): string {
  const path = inFolder(name);
  writeFileSync(path, encodeWholeWav({ encoding: 'float32', channelCount: channels.length as 1 | 2, rateHz }, channels, { clippedSamples: 0, notNumberSamples: 0 }));
  return path;
}

/** A tone whose clock is 30 parts in a million off. */
const tone = (hz: number, peak: number): Float64Array => Float64Array.from({ length: frames }, (_, i) => peak * Math.cos((2 * Math.PI * hz * 1.00003 * i) / rateHz + 0.2));
const both = (f1: number, f2: number, a: number, b: number): Float64Array => tone(f1, a).map((x, i) => x + secondOf(f2, b)[i]!);
const seconds = new Map<string, Float64Array>();
function secondOf(hz: number, peak: number): Float64Array {
  const key = `${hz} ${peak}`;
  if (!seconds.has(key)) seconds.set(key, tone(hz, peak));
  return seconds.get(key)!;
}

const rowsOf = (stdout: string): unknown[][] => stdout.split('\r\n').map((line) => (JSON.parse(`[${line.split(/,(?=(?:[^"]*"[^"]*")*[^"]*$)/).map((cell) => (cell === '' ? 'null' : /^-?[\d.]+(e-?\d+)?$/.test(cell) ? cell : cell.startsWith('"') ? cell : JSON.stringify(cell))).join(',')}]`) as unknown[]));

describe('stagebench measure --recording', () => {
  const music = recorded('tone.wav', [passThrough(device, tone(1000, 0.5)), new Float64Array(frames)]);

  it('reads a recorded tone: total distortion, its own frequency, the mean', async () => {
    const { exitCode, stdout } = await run('measure', '--recording', music, '--figures', '--csv');
    expect(exitCode).toBe(0);
    const known = harmonicsOf(device, 0.5);
    const thd = Math.hypot(known[2]!, known[3]!) / known[1]!;
    const percent = rowsOf(stdout).find(([label]) => label === 'THD, F')![1] as number;
    // 0.1 %: windows of a stretch, float32.
    expect(Math.abs(percent / 100 / thd - 1) <= 1e-3).toBe(true);
    const text = await run('measure', '--recording', music, '--figures');
    expect(text.stdout).toContain('the tone at 1000.030 Hz');
    expect(text.stdout).toMatch(/^mean/m);
  });

  it('reads recorded intermodulation, its tones off by what their clock is', async () => {
    const twin = recorded('twin.wav', [passThrough(device, both(19_000, 20_000, 0.25, 0.25))]);
    const { stdout, exitCode } = await run('measure', '--recording', twin, '--intermodulation', 'twin-19-20', '--csv');
    expect(exitCode).toBe(0);
    // k2 a² over the sum of both tones, each a (1 + 9/4 k3 a²).
    const expected = (0.02 * 0.25) / 2 / (1 + 2.25 * 0.01 * 0.0625);
    const percent = rowsOf(stdout).find(([label]) => label === 'second order, over both tones')![1] as number;
    expect(Math.abs(percent / 100 / expected - 1) <= 1e-3, `${percent} %`).toBe(true);
  });

  it.each<[string, () => string[], RegExp]>([
    ['silence', () => ['--recording', music, '--channel', '2', '--figures'], /channel 2: silence/],
    ['clipping', () => ['--recording', recorded('clipped.wav', [tone(1000, 1.4).map((x) => Math.max(-1, Math.min(1, x)))]), '--figures'], /clipped: \d+ samples in a row stand at full scale/],
    ['DC', () => ['--recording', recorded('dc.wav', [new Float64Array(frames).fill(0.25)]), '--intermodulation', 'smpte-60-7000'], /DC alone, 0\.2500/],
    ['another tone', () => ['--recording', music, '--intermodulation', 'smpte-250-8000'], /no tone at 250 Hz/],
    ['neither figure', () => ['--recording', music], /expected --figures or --intermodulation NAME with --recording, got neither/],
    ['a path too', () => ['--recording', music, '--figures', '--setting', 'x.json'], /--recording does not take --setting/],
    ['no such channel', () => ['--recording', music, '--figures', '--channel', '3'], /--channel: expected a number from 1 to 2, got 3/],
    ['no file', () => ['--recording', inFolder('none.wav'), '--figures'], /expected a file, found none/],
  ])('%s: one sentence, exit 2', async (_what, words, sentence) => {
    const { exitCode, stderr, stdout } = await run('measure', ...words());
    expect(stderr).toMatch(sentence);
    expect(exitCode).toBe(2);
    expect(stdout).toBe('');
  });
});
