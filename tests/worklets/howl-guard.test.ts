/** What is told to be a howl, and what is not. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { SeededRandom } from '../../dsp/math/index.ts';
import { parseWholeRecording } from '../../dsp/recording/index.ts';
import { HowlGuard } from '../../worklets/audio/howl-guard.ts';

const rateHz = 48_000;
const ceiling = 0.89;
const block = 128;

/** Seconds after which it is told; null: never. */
function told(seconds: number, sampleAt: (i: number) => number, inputPeakAt: (i: number) => number = () => 0): { readonly seconds: number; readonly hz: number } | null {
  const guard = new HowlGuard(rateHz, ceiling);
  const samples = new Float64Array(block);
  for (let at = 0; at < seconds * rateHz; at += block) {
    for (let i = 0; i < block; i += 1) samples[i] = sampleAt(at + i);
    if (guard.take(samples, block, inputPeakAt(at))) return { seconds: at / rateHz, hz: guard.frequencyHz };
  }
  return null;
}

const sine = (hz: number, peak: (seconds: number) => number) => (i: number) => peak(i / rateHz) * Math.sin((2 * Math.PI * hz * i) / rateHz);
const db = (level: number) => 10 ** (level / 20);
const limited = (peak: number) => Math.min(ceiling, peak);

describe('a howl', () => {
  it.each([[25, 250], [50, 1000], [100, 2300], [300, 7000]])('that grows by %d dB a second at %d Hz is told before it has stood at the limiter for half a second, with its frequency', (rate, hz) => {
    const heard = told(8, sine(hz, (s) => limited(db(-70 + rate * s))));
    const atCeiling = (70 - 1) / rate;
    expect(heard).not.toBeNull();
    expect(heard!.seconds, `reaches the limiter at ${atCeiling} s`).toBeLessThan(atCeiling + 0.5);
    expect(Math.abs(heard!.hz - hz)).toBeLessThan(rateHz / 1024);
    // Not before it is near the limiter.
    expect(heard!.seconds).toBeGreaterThan((70 - 14) / rate);
  });

  it('that rises out of music is told', () => {
    const { channels: [music] } = parseWholeRecording(readFileSync('demo-audio/piano.wav'));
    const howl = sine(3100, (s) => limited(db(-60 + 40 * s)));
    expect(told(4, (i) => 0.3 * music![i % music!.length]! + howl(i))?.seconds).toBeLessThan(2.5);
  });

  it('through a monitor that is turned down is told by the input that is near full scale', () => {
    const grown = (s: number) => Math.min(1, db(-60 + 40 * s));
    const atOutput = sine(900, (s) => 0.01 * grown(s));
    expect(told(4, atOutput)).toBeNull();
    expect(told(4, atOutput, (i) => grown(i / rateHz))?.seconds).toBeLessThan(2);
  });

  it('of a loop of delay, filter and gain is told', () => {
    const random = new SeededRandom(3);
    const delay = new Float64Array(1200);
    let [low, band, at] = [0, 0, 0];
    const heard = told(6, () => {
      const input = delay[at]! + 1e-4 * random.nextGaussian();
      low += 0.2 * band;
      band += 0.2 * (input - low - 0.3 * band);
      const output = Math.max(-ceiling, Math.min(ceiling, 0.5 * band));
      delay[at] = output;
      at = (at + 1) % delay.length;
      return output;
    });
    expect(heard).not.toBeNull();
  });
});

describe('no howl', () => {
  it.each([['-30 dB', () => db(-30)], ['-12 dB', () => db(-12)], ['swelling by 10 dB a second', (s: number) => limited(db(-40 + 10 * Math.min(3, s)))]])('is a sine of %s', (_, peak) => {
    expect(told(4, sine(440, peak))).toBeNull();
  });

  it('is noise at the limiter, or noise that grows', () => {
    const random = new SeededRandom(5);
    expect(told(3, () => 0.5 * random.nextGaussian())).toBeNull();
    expect(told(3, (i) => limited(db(-60 + (30 * i) / rateHz)) * random.nextGaussian() * 0.5)).toBeNull();
  });

  it.each(['clarinet', 'piano', 'bass', 'duet', 'held-chord', 'trio-mono'])('is %s, loud', (name) => {
    const { channels: [music] } = parseWholeRecording(readFileSync(`demo-audio/${name}.wav`));
    const loudest = music!.reduce((most, sample) => Math.max(most, Math.abs(sample)), 0);
    expect(told(music!.length / rateHz, (i) => (ceiling / loudest) * music![i]!)).toBeNull();
  });

  it('is what is not a number', () => {
    expect(told(2, (i) => (i % 100 === 0 ? NaN : 0))).toBeNull();
  });
});
