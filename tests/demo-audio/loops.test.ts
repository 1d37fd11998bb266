import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { LoudnessMeter, measureLoudness } from '../../dsp/listening/index.ts';
import { fromDbu, fullScalePeakVolts, parseWholeRecording, rmsToDbfs } from '../../dsp/recording/index.ts';

interface Loop {
  file: string;
  identifier: string;
  title: string;
  instruments: string[];
  shows: string;
  channels: number;
  durationSeconds: number;
  bars: number;
  beatsPerBar: number;
  beatsPerMinute: number;
}

const folder = new URL('../../demo-audio/', import.meta.url);
const loops = JSON.parse(readFileSync(new URL('loops.json', folder), 'utf8')) as Loop[];
const readme = readFileSync(new URL('README.md', folder), 'utf8');
const wav = (loop: Loop) => parseWholeRecording(readFileSync(new URL(loop.file, folder)));
const rmsOf = (signal: Float64Array): number => Math.sqrt(signal.reduce((sum, x) => sum + x * x, 0) / signal.length);

describe('the demo loops', () => {
  it('are seven, each listed, and together no more than 16 MB', () => {
    expect(loops.map((loop) => loop.file).sort()).toEqual(readdirSync(folder).filter((name) => name.endsWith('.wav')).sort());
    expect(loops.length).toBe(7);
    expect(new Set(loops.map((loop) => loop.identifier)).size).toBe(7);
    const bytes = loops.reduce((sum, loop) => sum + readFileSync(new URL(loop.file, folder)).length, 0);
    expect(bytes <= 16e6, `${bytes} bytes`).toBe(true);
  });

  it('hold one trio in mono and in stereo', () => {
    const trios = loops.filter((loop) => ['clarinet', 'piano', 'bass'].every((name) => loop.instruments.includes(name)));
    expect(trios.map((loop) => loop.channels).sort()).toEqual([1, 2]);
  });
});

describe.each(loops.map((loop) => [loop.identifier, loop] as const))('%s', (_identifier, loop) => {
  const { format, channels } = wav(loop);
  const frames = channels[0]!.length;

  it('is 24-bit at 48 kHz, 8 to 12 s long, and as long as its bars to the sample', () => {
    expect(format).toMatchObject({ encoding: 'pcm24', rateHz: 48_000, channelCount: loop.channels });
    expect(frames).toBe((loop.bars * loop.beatsPerBar * 60 * 48_000) / loop.beatsPerMinute);
    expect(frames / 48_000).toBe(loop.durationSeconds);
    expect(loop.durationSeconds >= 8 && loop.durationSeconds <= 12).toBe(true);
  });

  it('lies at −20 dBFS r.m.s., which is +4 dBu, below −1 dBFS, with nothing constant in it', () => {
    const rms = Math.sqrt(channels.reduce((sum, channel) => sum + rmsOf(channel) ** 2, 0) / channels.length);
    // 0.001 dB: 24-bit rounding is far below it.
    expect(Math.abs(rmsToDbfs(rms) + 20) <= 1e-3, `${rmsToDbfs(rms)} dBFS`).toBe(true);
    expect(Math.abs(rms * fullScalePeakVolts(24) - fromDbu(4)) <= 2e-4).toBe(true);
    expect(measureLoudness(channels, 48_000).truePeakDb < -1).toBe(true);
    // One part in 2^23 is a code; the mean of half a million rounded samples is far smaller.
    for (const channel of channels) expect(Math.abs(channel.reduce((sum, x) => sum + x, 0) / frames) <= 1e-7).toBe(true);
  });

  it('has the figures its README states', () => {
    const row = readme.split('\n').find((line) => line.includes(`\`${loop.file}\``))?.split('|').map((cell) => cell.trim().replace('−', '-')) ?? [];
    const meter = new LoudnessMeter(48_000, channels.length);
    meter.push(channels, 0, frames);
    meter.restart();
    meter.push(channels, 0, frames);
    expect(row.slice(4, 7)).toEqual([String(loop.channels), String(loop.durationSeconds), '48 kHz']);
    expect(row[7]).toBe(measureLoudness(channels, 48_000).samplePeakDb.toFixed(2));
    expect(row[9]).toBe('-20.00');
    expect(row[10]).toBe(meter.integratedLufs().toFixed(2));
  });

  it('goes through its seam without a step or a click', () => {
    for (const channel of channels) {
      const around = Float64Array.from({ length: 4_800 }, (_, i) => channel[(frames - 2_400 + i) % frames]!);
      // Fourth differences show a break in value, slope or curvature far above what music of this kind has at 48 kHz.
      let differences = around;
      for (let order = 0; order < 4; order += 1) differences = differences.slice(1).map((value, i) => value - differences[i]!);
      const atSeam = Math.max(...differences.slice(2_394, 2_402).map(Math.abs));
      const elsewhere = Math.max(...differences.slice(0, 2_394).map(Math.abs), ...differences.slice(2_402).map(Math.abs));
      expect(atSeam <= elsewhere + 16 / 8_388_608, `at the seam ${atSeam}, elsewhere ${elsewhere}`).toBe(true);
      const step = Math.abs(channel[0]! - channel[frames - 1]!);
      let largestStep = 0;
      for (let i = 1; i < around.length; i += 1) if (i !== 2_400) largestStep = Math.max(largestStep, Math.abs(around[i]! - around[i - 1]!));
      expect(step <= largestStep, `step at the seam ${step}, near it ${largestStep}`).toBe(true);
    }
  });

  it('has no click in it: no sample stands out of its neighbours\' course', () => {
    for (const channel of channels) {
      // A lone wrong sample of height h adds 6 h to a fourth difference; −40 dBFS is the height looked for.
      let largest = 0;
      for (let i = 4; i < frames; i += 1) {
        largest = Math.max(largest, Math.abs(channel[i]! - 4 * channel[i - 1]! + 6 * channel[i - 2]! - 4 * channel[i - 3]! + channel[i - 4]!));
      }
      expect(largest <= 6 * 0.01, `largest fourth difference ${largest}`).toBe(true);
    }
  });
});

describe('what single loops are for', () => {
  const levelsDb = (identifier: string, seconds: number): number[] => {
    const { channels } = wav(loops.find((loop) => loop.identifier === identifier)!);
    const length = Math.round(seconds * 48_000);
    return Array.from({ length: Math.floor(channels[0]!.length / length) }, (_, i) => rmsToDbfs(rmsOf(channels[0]!.subarray(i * length, (i + 1) * length))));
  };

  it('the piano dies away by 30 dB or more after its last chord, to below −50 dBFS', () => {
    const levels = levelsDb('piano', 0.5);
    const lastChord = levels[16]!;
    const end = levels[23]!;
    expect(lastChord - end >= 30, `${lastChord} dBFS, then ${end}`).toBe(true);
    expect(end <= -50, `${end} dBFS`).toBe(true);
    // 1.5 dB: the strings of one key beat against each other.
    for (let i = 18; i < 24; i += 1) expect(levels[i]! <= levels[i - 1]! + 1.5, `${i / 2} s: ${levels[i]} after ${levels[i - 1]}`).toBe(true);
  });

  it('the held chord keeps its level within 6 dB from half second to half second', () => {
    const levels = levelsDb('held-chord', 0.5);
    expect(Math.max(...levels) - Math.min(...levels) <= 6, levels.map((level) => level.toFixed(1)).join(' ')).toBe(true);
  });

  it('the clarinet draws breath', () => {
    const levels = levelsDb('clarinet', 0.1);
    expect(levels.filter((level) => level < -40).length >= 3, levels.map((level) => level.toFixed(0)).join(' ')).toBe(true);
  });

  it('the stereo loops differ left from right', () => {
    for (const loop of loops.filter((each) => each.channels === 2)) {
      const [left, right] = wav(loop).channels;
      const difference = rmsOf(left!.map((x, i) => x - right![i]!)) / rmsOf(left!);
      expect(difference >= 0.2, `${loop.identifier}: ${difference}`).toBe(true);
    }
  });
});
