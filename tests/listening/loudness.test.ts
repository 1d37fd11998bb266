import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { frontWeight, LoudnessMeter, measureLoudness, surroundWeight } from '../../dsp/listening/index.ts';
import { check, expectWithin, numberInput } from '../reference/checks.ts';

/** Segments of a 1 kHz sine at (peak dBFS, seconds), each from phase 0. */
function tones(segments: readonly (readonly [number, number])[], rateHz = 48_000, hz = 1_000): Float64Array {
  const parts = segments.map(([levelDb, seconds]) =>
    Float64Array.from({ length: Math.round(seconds * rateHz) }, (_, i) => 10 ** (levelDb / 20) * Math.sin((2 * Math.PI * hz * i) / rateHz)));
  const joined = new Float64Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    joined.set(part, at);
    at += part.length;
  }
  return joined;
}

function meterOf(channels: readonly Float64Array[], rateHz: number, weights?: readonly number[]): LoudnessMeter {
  const meter = new LoudnessMeter(rateHz, channels.length, weights);
  meter.push(channels, 0, channels[0]!.length);
  return meter;
}

describe('a full-scale 997 Hz sine', () => {
  it.each(['LUFS-997-44100', 'LUFS-997-48000', 'LUFS-997-96000'])('%s', (id) => {
    const rateHz = numberInput(check(id), 'fs');
    expectWithin(check(id), measureLoudness([tones([[0, numberInput(check(id), 'seconds')]], rateHz, 997)], rateHz).integratedLufs);
  });

  it('LUFS-997-STEREO', () => {
    const tone = tones([[0, 10]], 48_000, 997);
    expectWithin(check('LUFS-997-STEREO'), measureLoudness([tone, tone], 48_000).integratedLufs);
  });

  it.each([8_000, 192_000, 384_000])('at %d Hz reads −3.01 within 0.05', (rateHz) => {
    expectWithin(check('LUFS-997-48000'), measureLoudness([tones([[0, 2]], rateHz, 997)], rateHz).integratedLufs);
  });
});

describe('the signals of EBU Tech 3341', () => {
  it.each([1, 2, 3, 4, 5])('EBU-%d, and without gates', (number) => {
    const tone = tones(check(`EBU-${number}`).inputs['segments'] as [number, number][]);
    const meter = meterOf([tone, tone], 48_000);
    expectWithin(check(`EBU-${number}`), meter.integratedLufs());
    expectWithin(check(`EBU-${number}-UNGATED`), meter.ungatedLufs());
  });

  it('EBU-6, five channels', () => {
    const channels = (check('EBU-6').inputs['segments'] as number[]).map((levelDb) => tones([[levelDb, 20]]));
    const meter = meterOf(channels, 48_000, [frontWeight, frontWeight, frontWeight, surroundWeight, surroundWeight]);
    expectWithin(check('EBU-6'), meter.integratedLufs());
    expectWithin(check('EBU-6-UNGATED'), meter.ungatedLufs());
  });
});

describe('the meter', () => {
  it('reads the same to the bit however the signal is cut', () => {
    const signal = tones([[-20, 0.3], [-35, 0.9], [-26, 0.2]], 8_000, 441);
    const whole = meterOf([signal], 8_000).integratedLufs();
    fc.assert(fc.property(fc.array(fc.nat(signal.length), { maxLength: 8 }), (cuts) => {
      const meter = new LoudnessMeter(8_000, 1);
      const ends = [...cuts.sort((a, b) => a - b), signal.length];
      let start = 0;
      for (const end of ends) {
        meter.push([signal], start, end - start);
        start = end;
      }
      expect(meter.integratedLufs()).toBe(whole);
    }), { seed: 20261125, numRuns: 60 });
  });

  it('follows a gain, and hears −70 LUFS as silence', () => {
    const meter = meterOf([tones([[-20, 2]])], 48_000);
    expect(Math.abs(meter.integratedLufs(0.5) - meter.integratedLufs() + 6.020599913279624) <= 1e-12).toBe(true);
    expect(meterOf([tones([[-66.5, 2]])], 48_000).integratedLufs() > -70).toBe(true);
    expect(meterOf([tones([[-67.5, 2]])], 48_000).integratedLufs()).toBe(-Infinity);
    expect(meterOf([new Float64Array(48_000)], 48_000).integratedLufs()).toBe(-Infinity);
  });

  it('needs 400 ms, and then has a block for every 100 ms', () => {
    expect(meterOf([new Float64Array(19_199)], 48_000).blockCount).toBe(0);
    expect(meterOf([new Float64Array(19_200)], 48_000).blockCount).toBe(1);
    expect(meterOf([new Float64Array(48_000 * 60)], 48_000).blockCount).toBe(597);
  });

  it('shows what is not a number', () => {
    const signal = tones([[-20, 2]]);
    signal[48_000] = NaN;
    expect(meterOf([signal], 48_000).integratedLufs()).toBe(NaN);
  });

  it('forgets on restart but keeps its filters in the swing', () => {
    // A constant: the high-pass takes seconds to forget its start, so a filter started anew would read it.
    const constant = new Float64Array(48_000 * 5).fill(0.5);
    const meter = meterOf([constant], 48_000);
    expect(meter.integratedLufs() > -40).toBe(true);
    meter.restart();
    meter.push([constant], 0, 48_000);
    expect(meter.blockCount).toBe(7);
    expect(meter.integratedLufs()).toBe(-Infinity);
  });
});
