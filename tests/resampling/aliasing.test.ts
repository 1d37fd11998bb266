import { describe, expect, it } from 'vitest';
import { cos, RealFft, tanh } from '../../dsp/math/index.ts';
import { designLadder } from '../../dsp/resampling/index.ts';
import { check, checksOf, expectWithin, numberInput, numbersInput } from '../reference/checks.ts';
import type { ReferenceCheck } from '../reference/checks.ts';
import { down, up } from './ladder-probe.ts';

type Shaper = (x: number) => number;
const clip: Shaper = (x) => Math.max(-1, Math.min(1, x));
const shaperOf = (entry: ReferenceCheck): Shaper => (entry.inputs['shaper'] === 'tanh' ? tanh : clip);

/** Cosine and sine amplitudes of a record of one period, bin by bin. */
function amplitudes(signal: Float64Array): { cosine: Float64Array; sine: Float64Array } {
  const half = signal.length / 2;
  const cosine = new Float64Array(half + 1);
  const sine = new Float64Array(half + 1);
  new RealFft(signal.length).forward(signal, cosine, sine);
  return { cosine: cosine.map((value) => value / half), sine: sine.map((value) => -value / half) };
}

/** A cosine of whole cycles in a record. */
const tone = (amplitude: number, cycles: number, length: number): Float64Array =>
  Float64Array.from({ length }, (_, n) => amplitude * cos(2 * Math.PI * (((cycles * n) % length) / length)));

/** Harmonics of f(A cos t), signed, by transforming one period so fine that what folds stays below 1e-10. */
function trueHarmonics(shape: Shaper, amplitude: number): Float64Array {
  const key = `${shape === clip ? 'clip' : 'tanh'} ${amplitude}`;
  const known = harmonicsFound.get(key);
  if (known !== undefined) return known;
  const found = amplitudes(tone(amplitude, 1, shape === clip ? 262144 : 65536).map(shape)).cosine;
  harmonicsFound.set(key, found);
  return found;
}
const harmonicsFound = new Map<string, Float64Array>();

/** What folding leaves below half the base rate, up to `lastBin`, relative to the fundamental; amplitude of each bin signed. */
function residualDb(cosine: Float64Array, sine: Float64Array, harmonics: Float64Array, cycles: number, lastBin: number): number {
  let sum = 0;
  for (let bin = 1; bin <= lastBin; bin++) {
    const order = bin % cycles === 0 ? bin / cycles : 0;
    const rest = cosine[bin]! - (order > 0 ? harmonics[order]! : 0);
    sum += rest * rest + sine[bin]! * sine[bin]!;
  }
  return 10 * Math.log10(sum) - 20 * Math.log10(Math.abs(harmonics[1]!));
}

describe('alias-free harmonics', () => {
  it.each(checksOf('ALIAS-TRUE-').map((entry) => [entry.id, entry] as const))('%s', (_id, entry) => {
    const harmonics = trueHarmonics(shaperOf(entry), numberInput(entry, 'A'));
    expectWithin(entry, numbersInput(entry, 'n').map((n) => harmonics[n]!));
  });
});

describe('aliases of a memoryless shaper at a multiple of the rate', () => {
  const cases = [...checksOf('ALIAS-tanh-'), ...checksOf('ALIAS-clip-')];

  it.each(cases.map((entry) => [entry.id, entry] as const))('%s, ideal filters', (_id, entry) => {
    const shape = shaperOf(entry);
    const [cycles, frames, amplitude] = [numberInput(entry, 'J'), numberInput(entry, 'N'), numberInput(entry, 'A')];
    const harmonics = trueHarmonics(shape, amplitude);
    expectWithin(entry, numbersInput(entry, 'M').map((factor) => {
      const { cosine, sine } = amplitudes(tone(amplitude, cycles, frames * factor).map(shape));
      return residualDb(cosine, sine, harmonics, cycles, frames / 2 - 1);
    }));
  });

  it.each(cases.map((entry) => [entry.id, entry] as const))('%s, through the ladder, to 20 kHz', (_id, entry) => {
    const shape = shaperOf(entry);
    const [cycles, frames, amplitude] = [numberInput(entry, 'J'), numberInput(entry, 'N'), numberInput(entry, 'A')];
    const harmonics = trueHarmonics(shape, amplitude);
    for (const factor of [2, 4, 8] as const) {
      const design = designLadder(48000, factor, 'linear-phase');
      const lastBin = Math.floor(design.passBandHz * frames / 48000);
      const ideal = amplitudes(tone(amplitude, cycles, frames * factor).map(shape));
      const idealDb = residualDb(ideal.cosine, ideal.sine, harmonics, cycles, lastBin);
      // Two periods in, one measured: what the ladder delays is turned back bin by bin.
      const period = tone(amplitude, cycles, frames);
      const input = new Float64Array(2 * frames);
      input.set(period);
      input.set(period, frames);
      const output = down(design, up(design, input).map(shape));
      const late = new Float64Array(frames);
      for (let n = 0; n < frames; n++) late[n] = output[frames + ((n + design.latencyBaseFrames) % frames)]!;
      const { cosine, sine } = amplitudes(late);
      const throughDb = residualDb(cosine, sine, harmonics, cycles, lastBin);
      // The ladder's own ripple and images, 2.5e-7 of each harmonic, come on top of the ideal value; each drives the shaper, hence the sum.
      const limitDb = 10 * Math.log10(Math.pow(10, idealDb / 10) + Math.pow(10, -118 / 10)) + 0.1;
      expect(throughDb <= limitDb, `×${factor}: ${throughDb} dB, ideal ${idealDb} dB`).toBe(true);
      if (idealDb > -100) expect(throughDb >= idealDb - 0.1, `×${factor}: ${throughDb} dB, ideal ${idealDb} dB`).toBe(true);
    }
  });

  it('ALIAS-POLY: second and third order need twice the rate and no more', () => {
    const entry = check('ALIAS-POLY');
    const factor = numberInput(entry, 'M');
    const frames = 4096;
    const cycles = 427;
    const shape: Shaper = (x) => x + 0.1 * (2 * x * x - 1) + 0.1 * (4 * x * x * x - 3 * x);
    // The fourth and higher harmonics are none: T2 and T3 of a cosine of peak 1.
    const harmonics = new Float64Array(frames);
    harmonics.set([0, 1, 0.1, 0.1]);
    const { cosine, sine } = amplitudes(tone(1, cycles, frames * factor).map(shape));
    expectWithin(entry, Math.pow(10, residualDb(cosine, sine, harmonics, cycles, frames / 2 - 1) / 20));
  });
});
