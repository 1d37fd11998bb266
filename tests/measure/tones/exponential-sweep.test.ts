import { describe, expect, it } from 'vitest';
import { exponentialSweep, harmonicAdvanceSeconds, sweepResponses, sweepSamples, synchronisedSweep } from '../../../dsp/measure/tones/index.ts';
import { checksOf, expectWithin, numberInput } from '../../reference/checks.ts';
import { harmonicsOf, passThrough, type SyntheticDevice } from '../../support/synthetic-device.ts';

const of = (entry: ReturnType<typeof checksOf>[number]) => [numberInput(entry, 'f1'), numberInput(entry, 'f2'), numberInput(entry, 'T')] as const;

describe('exponential sweeps', () => {
  it.each(checksOf('ESS-').filter(({ id }) => !id.includes('SYNC')))('$id: L, and how early harmonics 2 to 5 come', (entry) => {
    const sweep = exponentialSweep(...of(entry));
    expectWithin(entry, [sweep.constantSeconds, ...[2, 3, 4, 5].map((order) => harmonicAdvanceSeconds(sweep, order))]);
  });

  it.each(checksOf('ESS-SYNC-'))('$id: L of whole cycles, and the time it takes', (entry) => {
    const { constantSeconds, seconds } = synchronisedSweep(...of(entry));
    expectWithin(entry, [constantSeconds, seconds]);
  });

  it('reach their ends when they are said to, and refuse what is no sweep', () => {
    const rateHz = 96_000;
    const sweep = synchronisedSweep(100, 10_000, 0.5);
    const samples = sweepSamples(sweep, rateHz);
    expect(samples).toHaveLength(Math.floor(sweep.seconds * rateHz));
    // Upward crossings: ten cycles, near the middle and before the fade at the end, take as long as the frequency half-way through them says.
    const crossings = Array.from(samples, (x, i) => (i > 0 && samples[i - 1]! < 0 && x >= 0 ? i : -1)).filter((i) => i > 0);
    for (const place of [0.4, 0.8]) {
      const first = Math.round(place * crossings.length);
      const [from, to] = [crossings[first]!, crossings[first + 10]!];
      const expected = 100 * Math.exp((from + to) / 2 / rateHz / sweep.constantSeconds);
      expect(Math.abs((10 * rateHz) / (to - from) / expected - 1) <= 0.02).toBe(true);
    }
    expect(Math.abs(100 * Math.exp(sweep.seconds / sweep.constantSeconds) / 10_000 - 1) <= 1e-12).toBe(true);
    expect(() => exponentialSweep(100, 50, 1)).toThrow('got 100 Hz to 50 Hz in 1 s');
  });
});

describe('harmonics of a synthetic device by one sweep', () => {
  const rateHz = 96_000;
  const device: SyntheticDevice = { coefficients: [0.01, 1, 0.05, 0.03, 0.01, 0.02] };
  const sweep = synchronisedSweep(40, 8000, 3);
  const peak = 0.8;
  const drive = new Float64Array(rateHz * 4);
  drive.set(sweepSamples(sweep, rateHz).map((x) => peak * x));
  const hertz = [150, 500, 1000, 2000, 4000];
  const measured = sweepResponses(passThrough(device, drive), sweep, rateHz, [1, 2, 3, 4, 5], hertz);
  if (measured.refusal !== undefined) throw new Error(measured.refusal);
  const known = harmonicsOf(device, peak);

  it.each(measured.responses.map((response) => [response.order, response] as const))('H%d: as in closed form, 0.1 dB, and as early as it should be', (order, { amplitudes, advanceSeconds }) => {
    amplitudes.forEach((amplitude, k) => {
      const error = 20 * Math.log10(amplitude / Math.abs(known[order]!));
      expect(Math.abs(error) <= 0.1, `${hertz[k]} Hz: ${error} dB`).toBe(true);
    });
    // An even harmonic is a quarter turn off: strongest to either side of its place.
    expect(Math.abs(advanceSeconds - harmonicAdvanceSeconds(sweep, order)) <= (order % 2 === 0 ? 10 : 1) / rateHz).toBe(true);
  });

  it('has no harmonic at or above half the rate, and reads nothing off silence', () => {
    const high = sweepResponses(passThrough(device, drive), sweep, rateHz, [5], [9600, 4000]);
    expect(high.refusal === undefined && Array.from(high.responses[0]!.amplitudes).map(Number.isNaN)).toEqual([true, false]);
    for (const [samples, sentence] of [[new Float64Array(100), /^silence/], [new Float64Array(100).fill(1), /^DC alone/], [Float64Array.of(1, NaN), /^sample 1 is NaN/], [new Float64Array(2 ** 20 + 1).fill(1, 5), /^too long/]] as const) {
      expect(sweepResponses(samples, sweep, rateHz, [1], [1000]).refusal).toMatch(sentence);
    }
  });
});
