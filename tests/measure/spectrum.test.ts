/** The long-term spectrum of a loop: bands, and the power in them. */
import { describe, expect, it } from 'vitest';
import { SeededRandom } from '../../dsp/math/index.ts';
import { loopSpectrumInSteps } from '../../dsp/measure/index.ts';
import type { LoopSpectrum, SpectrumBand } from '../../dsp/measure/index.ts';

const rateHz = 48_000;

function spectrumOf(channels: readonly Float64Array[], rate = rateHz): LoopSpectrum {
  const job = loopSpectrumInSteps(channels, rate);
  for (;;) {
    const step = job.next();
    if (step.done) return step.value!;
  }
}

const sine = (hz: number, peak: number, frames: number): Float64Array => Float64Array.from({ length: frames }, (_, n) => peak * Math.sin((2 * Math.PI * hz * n) / rateHz));
const band = (bands: readonly SpectrumBand[], hz: number): SpectrumBand => bands.find(({ fromHz, toHz }) => hz >= fromHz && hz < toHz)!;
const power = (bands: readonly SpectrumBand[]): number => bands.reduce((sum, { db }) => sum + 10 ** (db / 10), 0);

describe('bands', () => {
  const { thirds, fine } = spectrumOf([sine(1000, 0.1, rateHz)]);

  it('are third octaves with the exact centres of IEC 61260-1, base 10', () => {
    // From the standard's table of exact midband frequencies.
    const exact: Readonly<Record<number, number>> = { 0: 19.953, 4: 50.119, 7: 100, 10: 199.53, 17: 1000, 20: 1995.3, 23: 3981.1, 27: 10000, 30: 19953 };
    expect(thirds).toHaveLength(31);
    for (const [index, hz] of Object.entries(exact)) expect(Math.abs(thirds[Number(index)]!.centreHz / hz - 1)).toBeLessThan(3e-5);
    for (const { fromHz, toHz } of thirds) expect(Math.abs(toHz / fromHz - 10 ** 0.1)).toBeLessThan(1e-12);
  });

  it('touch, and the fine ones fill the third octaves', () => {
    for (const bands of [thirds, fine]) bands.slice(1).forEach(({ fromHz }, k) => expect(Math.abs(fromHz / bands[k]!.toHz - 1)).toBeLessThan(1e-12));
    expect(fine).toHaveLength(8 * thirds.length);
    thirds.forEach(({ db }, k) => {
      const sum = 10 * Math.log10(power(fine.slice(8 * k, 8 * k + 8)));
      expect(Math.abs(sum - db)).toBeLessThan(1e-9);
    });
  });

  it('end below half the rate', () => {
    const low = spectrumOf([sine(100, 0.5, 8000)], 8000).thirds;
    expect(low.at(-1)!.toHz).toBeLessThanOrEqual(4000);
    expect(low.at(-1)!.centreHz).toBeGreaterThan(3000);
  });
});

describe('levels', () => {
  it.each([25, 100, 1000, 9999])('of a sine of %d Hz stand in its band: −20 dB for a tenth of full scale, in a loop of any length', (hz) => {
    for (const frames of [rateHz, 3 * rateHz + 1234]) {
      // Whole periods, so that the loop goes round without a click.
      const whole = Math.round(Math.round((hz * frames) / rateHz) * rateHz / hz);
      const { thirds } = spectrumOf([sine(hz, 0.1, whole)]);
      const centre = thirds.reduce((near, each) => (Math.abs(Math.log(each.centreHz / hz)) < Math.abs(Math.log(near.centreHz / hz)) ? each : near));
      // 0.1 dB: of 25 Hz one part in forty of the window's lines lies in the next band.
      expect(Math.abs(centre.db + 20), `${hz} Hz: ${centre.db}`).toBeLessThan(0.1);
    }
  });

  it('of white noise go with the width of the band, and add up to its power', () => {
    const random = new SeededRandom(20261125);
    const noise = Float64Array.from({ length: 20 * rateHz }, () => 0.1 * random.nextGaussian());
    const { thirds } = spectrumOf([noise]);
    for (const { fromHz, toHz, db, centreHz } of thirds) {
      const expected = 10 * Math.log10((2 * 0.01 * (toHz - fromHz)) / (rateHz / 2));
      // Deviation of a mean over 20 s: 1/√(time · bandwidth).
      const limit = 4 * (10 / Math.LN10) / Math.sqrt(20 * (toHz - fromHz)) + 0.02;
      expect(Math.abs(db - expected), `${centreHz} Hz`).toBeLessThan(limit);
    }
  });

  it('are the mean over the channels, and the same wherever a loop is cut', () => {
    const tone = sine(500, 0.5, rateHz);
    const silent = new Float64Array(rateHz);
    const [mono, half] = [spectrumOf([tone]), spectrumOf([tone, silent])].map(({ thirds }) => band(thirds, 500).db) as [number, number];
    expect(Math.abs(mono - half - 10 * Math.log10(2))).toBeLessThan(1e-9);
    const turned = Float64Array.from(tone, (_, n) => tone[(n + 12_345) % tone.length]!);
    expect(Math.abs(band(spectrumOf([turned]).thirds, 500).db - mono)).toBeLessThan(1e-9);
  });

  it('of silence are −∞, and of nothing there is none', () => {
    expect(spectrumOf([new Float64Array(1000)]).thirds.every(({ db }) => db === -Infinity)).toBe(true);
    expect(loopSpectrumInSteps([new Float64Array(0)], rateHz).next()).toEqual({ done: true, value: null });
    expect(loopSpectrumInSteps([], rateHz).next().value).toBeNull();
  });
});
