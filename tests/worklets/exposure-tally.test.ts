import { describe, expect, it } from 'vitest';
import { aWeighting } from '../../dsp/listening/index.ts';
import { ExposureTally } from '../../worklets/audio/exposure-tally.ts';
import { ReferenceNoise } from '../../worklets/audio/reference-noise.ts';
import type { FromProcessor } from '../../worklets/messages.ts';

const rateHz = 48_000;
type Heard = Extract<FromProcessor, { kind: 'heard' }>;

function tally(): { heard: Heard[]; meter: ExposureTally } {
  const heard: Heard[] = [];
  return { heard, meter: new ExposureTally(rateHz, (message) => { if (message.kind === 'heard') heard.push(message); }) };
}

/** Sine of 1 kHz, where the weighting is 0 dB. */
const sine = (rms: number, frames: number) => Float32Array.from({ length: frames }, (_, i) => rms * Math.SQRT2 * Math.sin((2 * Math.PI * 1000 * i) / rateHz));

function play(meter: ExposureTally, left: Float32Array, right: Float32Array, blind = false): void {
  for (let at = 0; at < left.length; at += 128) meter.take(left, right, at, Math.min(128, left.length - at), blind);
}

describe('what goes to the output', () => {
  it('is told once a second of sound, each channel by itself', () => {
    const { heard, meter } = tally();
    play(meter, sine(0.1, 3 * rateHz), sine(0.05, 3 * rateHz));
    expect(heard).toHaveLength(3);
    const { seconds, leftSquareSeconds, rightSquareSeconds } = heard[2]!;
    expect(seconds).toBe(1);
    // Filters have settled; the tone is rounded to 32 bits.
    expect(Math.abs(10 * Math.log10(leftSquareSeconds / 0.01)) <= 1e-5, `${leftSquareSeconds}`).toBe(true);
    expect(Math.abs(10 * Math.log10(rightSquareSeconds / 0.0025)) <= 1e-5, `${rightSquareSeconds}`).toBe(true);
  });

  it('is told to its end when it falls silent, and nothing is told of silence', () => {
    const { heard, meter } = tally();
    play(meter, sine(0.1, rateHz / 2), sine(0.1, rateHz / 2));
    expect(heard).toHaveLength(0);
    meter.rest(false);
    meter.rest(false);
    expect(heard.map(({ seconds }) => seconds)).toEqual([0.5]);
  });

  it('is told of blind work after it only, with nothing lost', () => {
    const sighted = tally();
    const blind = tally();
    const tone = sine(0.1, 4 * rateHz);
    play(sighted.meter, tone, tone);
    play(blind.meter, tone, tone, true);
    blind.meter.rest(true);
    expect(blind.heard).toEqual([]);
    blind.meter.rest(false);
    expect(blind.heard.map(({ seconds }) => seconds)).toEqual([4]);
    const sum = sighted.heard.reduce((total, { leftSquareSeconds }) => total + leftSquareSeconds, 0);
    expect(Math.abs(blind.heard[0]!.leftSquareSeconds / sum - 1) <= 1e-12).toBe(true);
  });

  it('goes on after a sample that is no number', () => {
    const { heard, meter } = tally();
    const broken = sine(0.1, rateHz);
    broken[100] = NaN;
    play(meter, broken, broken);
    expect(heard).toEqual([]);
    play(meter, sine(0.1, 2 * rateHz), sine(0.1, 2 * rateHz));
    expect(heard.every(({ leftSquareSeconds }) => Math.abs(leftSquareSeconds / 0.01 - 1) <= 0.01)).toBe(true);
    expect(heard).toHaveLength(2);
  });
});

describe('the reference noise', () => {
  const noise = (rate: number) => {
    const samples = new Float64Array(10 * rate);
    new ReferenceNoise(0.07, rate).fill(samples, samples.length);
    return samples;
  };

  it.each([44_100, 48_000, 96_000])('at %d Hz has the level asked for, and stays clear of full scale', (rate) => {
    const samples = noise(rate);
    const rms = Math.sqrt(samples.reduce((sum, x) => sum + x * x, 0) / samples.length);
    // Ten seconds of a band 1.5 kHz wide: the level of such a stretch scatters by 0.04 dB.
    expect(Math.abs(20 * Math.log10(rms / 0.07)) <= 0.15, `${rms}`).toBe(true);
    expect(samples.every((x) => Math.abs(x) < 0.07 * 6)).toBe(true);
  });

  it('lies where the A curve is flat: weighted and unweighted levels are within a decibel', () => {
    const samples = noise(rateHz);
    let weighted = samples.slice();
    for (const { b0, b1, a1 } of aWeighting(rateHz)) {
      let state = 0;
      weighted = weighted.map((x) => { const y = b0 * x + state; state = b1 * x - a1 * y; return y; });
    }
    const square = (of: Float64Array) => of.reduce((sum, x) => sum + x * x, 0);
    expect(Math.abs(10 * Math.log10(square(weighted) / square(samples))) <= 1).toBe(true);
  });
});
