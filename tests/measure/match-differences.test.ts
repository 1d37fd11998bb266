/** Differences that a level match leaves: of tones, noise and gains whose answer is known, and of a bell that no gain can match. */
import { describe, expect, it } from 'vitest';
import { SeededRandom } from '../../dsp/math/index.ts';
import { DifferenceMeter, matchDifferences, matchPathInSteps, mostDifferent, type MatchDifferences } from '../../dsp/measure/index.ts';
import { pathOf, plucked, rateHz, sine } from '../path/support.ts';

function finished<Result>(steps: Generator<unknown, Result>): Result {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

function meterOf(samples: Float64Array, piece = 1000): DifferenceMeter {
  const meter = new DifferenceMeter(rateHz, 1, samples.length);
  for (let at = 0; at < samples.length; at += piece) meter.push([samples], at, Math.min(piece, samples.length - at));
  finished(meter.finish());
  return meter;
}

const differences = (inside: Float64Array, outside: Float64Array, inGainDb = 0, outGainDb = 0): MatchDifferences => matchDifferences(meterOf(inside), meterOf(outside), rateHz, inGainDb, outGainDb);
const bandAt = ({ bands }: MatchDifferences, nominalHz: number) => bands.find((band) => band.nominalHz === nominalHz)!;

function noise(frames: number, peak = 0.1): Float64Array {
  const random = new SeededRandom(20261126);
  return Float64Array.from({ length: frames }, () => peak * (2 * random.nextUnit() - 1));
}

describe('third octaves of both sides', () => {
  it('have the nominal frequencies of the standard, 25 Hz to 20 kHz, and end below half the rate', () => {
    const names = differences(noise(48_000), noise(48_000)).bands.map(({ nominalHz }) => nominalHz);
    expect(names).toEqual([25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000, 10_000, 12_500, 16_000, 20_000]);
    const [low, other] = [new DifferenceMeter(32_000, 1, 100), new DifferenceMeter(32_000, 1, 100)];
    for (const meter of [low, other]) {
      meter.push([noise(100)], 0, 100);
      finished(meter.finish());
    }
    expect(matchDifferences(low, other, 32_000, 0, 0).bands.at(-1)!.nominalHz).toBe(12_500);
  });

  it.each([1000, 894, 1119, 100, 94])('read a tone at %i Hz to 0.01 dB where it is three lines or more from an edge', (hz) => {
    // Edges of 1 kHz: 891.25 and 1122.0 Hz; of 100 Hz: 89.13 and 112.2 Hz. 894 and 1119 Hz are 2 lines away: 0.1 dB.
    const read = differences(sine(hz, 0.1, 96_000), sine(hz, 0.1, 96_000));
    const limitDb = hz === 894 || hz === 1119 ? 0.1 : 0.01;
    const { inDb } = bandAt(read, hz < 500 ? 100 : 1000);
    if (!(Math.abs(inDb + 20) <= limitDb)) throw new Error(`${hz} Hz: ${inDb} dB, expected −20 ± ${limitDb} dB`);
    expect(read.bands.filter(({ differenceDb }) => differenceDb !== null).length).toBeLessThanOrEqual(2);
  });

  it('are exactly the gain where nothing but a gain differs, and nothing once it is matched', () => {
    const loop = plucked(70_000);
    const louder = loop.map((sample) => 2 * sample);
    const gainDb = 20 * Math.log10(2);
    const apart = differences(louder, loop);
    for (const value of [apart.rmsDb, apart.truePeakDb, ...apart.bands.flatMap(({ differenceDb }) => differenceDb ?? [])]) expect(Math.abs(value - gainDb)).toBeLessThan(1e-9);
    const matched = differences(louder, loop, -gainDb, 0);
    for (const value of [matched.rmsDb, matched.truePeakDb, ...matched.bands.flatMap(({ differenceDb }) => differenceDb ?? [])]) expect(Math.abs(value)).toBeLessThan(1e-9);
  });

  it('have the level of the whole: of two channels their mean power, of any number of windows the same', () => {
    const [tone, silence] = [sine(1000, 0.1, 96_000), new Float64Array(96_000)];
    const stereo = (): DifferenceMeter => {
      const meter = new DifferenceMeter(rateHz, 2, tone.length);
      meter.push([tone, silence], 0, tone.length);
      finished(meter.finish());
      return meter;
    };
    const { inDb } = bandAt(matchDifferences(stereo(), stereo(), rateHz, 0, 0), 1000);
    expect(Math.abs(inDb - (-20 + 10 * Math.log10(0.5)))).toBeLessThan(0.01);
  });

  it('are the response of a known filter, to 0.05 dB in noise', () => {
    // One pole: y = a x + (1 − a) y′, |H|² = a²/(1 + b² − 2 b cos ω), b = 1 − a; a loop that goes round, so that it is settled.
    const x = noise(200_000);
    const [a, b] = [0.3, 0.7];
    let held = 0;
    for (let i = x.length - 2000; i < x.length; i += 1) held = a * x[i]! + b * held;
    const y = x.map((sample) => (held = a * sample + b * held));
    const read = differences(y, x);
    for (const { nominalHz, differenceDb } of read.bands) {
      const centre = 1000 * 10 ** (Math.round(10 * Math.log10(nominalHz / 1000)) / 10);
      let sum = 0;
      for (let k = 0; k < 200; k += 1) {
        const omega = (2 * Math.PI * centre * (10 ** -0.05 + ((k + 0.5) / 200) * (10 ** 0.05 - 10 ** -0.05))) / rateHz;
        sum += (a * a) / (1 + b * b - 2 * b * Math.cos(omega)) / 200;
      }
      const expected = 10 * Math.log10(sum);
      if (!(Math.abs(differenceDb! - expected) <= 0.05)) throw new Error(`${nominalHz} Hz: ${differenceDb} dB, expected ${expected} ± 0.05 dB`);
    }
  });

  it('hold all of the power there is, in a long region, one shorter than a window, and in pieces of any size', () => {
    // Within the bands: nothing of the three partials lies outside.
    for (const frames of [19_200, 33_000, 96_000]) {
      const loop = plucked(frames);
      const sum = (samples: Float64Array, piece: number): number => meterOf(samples, piece).bandPowers().reduce((total, power) => total + power, 0);
      const meanSquare = loop.reduce((total, sample) => total + sample * sample, 0) / frames;
      const offDb = 10 * Math.log10(sum(loop, 1000) / meanSquare);
      if (!(Math.abs(offDb) <= 0.05)) throw new Error(`${frames} frames: ${offDb} dB`);
      expect(sum(loop, 77)).toBe(sum(loop, frames));
    }
  });

  it('say where there is no signal, and which band differs most', () => {
    const low = sine(100, 0.3, 48_000);
    const added = low.map((sample, i) => sample + 0.01 * Math.sin((2 * Math.PI * 4000 * i) / rateHz));
    const read = differences(added, low);
    expect(bandAt(read, 1000).differenceDb).toBeNull();
    expect(bandAt(read, 4000).differenceDb).toBeGreaterThan(60);
    expect(mostDifferent(read)!.nominalHz).toBe(4000);
    expect(mostDifferent(differences(new Float64Array(48_000), low))).toMatchObject({ differenceDb: -Infinity });
    // 70 dB under the whole: not to be told of.
    expect(bandAt(differences(low.map((sample, i) => sample + 1e-4 * Math.sin((2 * Math.PI * 4000 * i) / rateHz)), low), 4000).differenceDb).toBeNull();
  });
});

describe('the match of a path', () => {
  it('tells what a bell leaves different although both sides are equally loud', () => {
    const values = { section1Kind: 'bell', section1Hz: 220, section1Db: 6, section1Quality: 3 };
    const match = finished(matchPathInSteps({ path: pathOf([{ stage: 'equaliser', values }]), baseRateHz: rateHz, onTrial: { kind: 'path' }, channels: [plucked(48_000)] }));
    if (match.kind !== 'matched') throw new Error(match.sentence);
    const { differences: found, inGainDb } = match;
    expect(Math.abs(match.residualDb)).toBeLessThan(1e-3);
    // All of the first partial lies in one band, near the bell's middle; the third is past it.
    const [first, third] = [bandAt(found, 200).differenceDb!, bandAt(found, 1250).differenceDb!];
    expect(Math.abs(first - (6 + inGainDb))).toBeLessThan(1);
    expect(Math.abs(third - inGainDb)).toBeLessThan(0.2);
    expect(inGainDb).toBeLessThan(-0.5);
  });
});
