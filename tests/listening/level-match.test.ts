import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { LevelMatcher, largestResidualDb, measureLoudness, type LevelMatchResult } from '../../dsp/listening/index.ts';
import { check, expectWithin, numberInput, numbersInput } from '../reference/checks.ts';

const rateHz = 48_000;

/** A plucked phrase: five decaying notes a second, so that the gates have something to do. */
function phrase(seconds: number, gain = 1): Float64Array {
  return Float64Array.from({ length: seconds * rateHz }, (_, i) => {
    const sinceNote = (i % 9_600) / rateHz;
    return gain * 0.3 * Math.exp(-9 * sinceNote) * Math.sin(2 * Math.PI * (220 + 55 * (Math.floor(i / 9_600) % 5)) * sinceNote);
  });
}

function match(inside: Float64Array, outside: Float64Array): LevelMatchResult {
  const matcher = new LevelMatcher(rateHz, 1, 1);
  for (const [way, signal] of [['in', inside], ['out', outside]] as const) {
    matcher.warmUp(way, [signal], 0, signal.length);
    matcher.measure(way, [signal], 0, signal.length);
  }
  return matcher.result();
}

function matched(result: LevelMatchResult): Extract<LevelMatchResult, { kind: 'matched' }> {
  if (result.kind !== 'matched') throw new Error(`expected a match, got ${result.sentence}`);
  return result;
}

const reasonOf = (result: LevelMatchResult): string => (result.kind === 'matched' ? 'matched' : result.reason);

describe('level match', () => {
  it('MATCH-LOUDNESS: turns the louder one down by the difference', () => {
    const reference = check('MATCH-LOUDNESS');
    const tone = (lufs: number): Float64Array => Float64Array.from({ length: 2 * rateHz }, (_, i) => 10 ** ((lufs + 3.01) / 20) * Math.sin((2 * Math.PI * 997 * i) / rateHz));
    const wet = tone(numberInput(reference, 'wet_LUFS'));
    const dry = tone(numberInput(reference, 'dry_LUFS'));
    const result = matched(match(wet, dry));
    expectWithin(reference, result.inGainDb);
    expect(result.outGainDb).toBe(0);
    const reversed = matched(match(dry, wet));
    expectWithin(reference, reversed.outGainDb);
    expect(reversed.inGainDb).toBe(0);
  });

  it('MATCH-TOL: what is left after a shaper, a filter and a gain, measured on the matched sound itself', () => {
    fc.assert(fc.property(fc.double({ min: -12, max: 12, noNaN: true }), fc.double({ min: 0.5, max: 8, noNaN: true }), (gainDb, drive) => {
      const dry = phrase(2);
      let held = 0;
      const wet = dry.map((x) => {
        held += 0.2 * (Math.tanh(drive * x) - held);
        return 10 ** (gainDb / 20) * held;
      });
      const result = matched(match(wet, dry));
      const measure = (signal: Float64Array, levelDb: number): number => {
        const twice = new Float64Array(2 * signal.length);
        twice.set(signal);
        twice.set(signal, signal.length);
        return measureLoudness([twice.map((x) => x * 10 ** (levelDb / 20))], rateHz).integratedLufs;
      };
      const left = measure(wet, result.inGainDb) - measure(dry, result.outGainDb);
      expectWithin(check('MATCH-TOL'), Math.abs(left));
      // 0.02 dB: the first pass counts in this second measurement.
      expect(Math.abs(left - result.residualDb) <= 0.02).toBe(true);
      expect(Math.max(result.inGainDb, result.outGainDb)).toBe(0);
    }), { seed: 20261125, numRuns: 8 });
    expect(largestResidualDb).toBe(check('MATCH-TOL').expected);
  });

  it('MATCH-01DB: the tolerance as an amplitude ratio is heard by the meter as that many decibels', () => {
    const reference = check('MATCH-01DB');
    [0.1, 0.25].forEach((levelDb, i) => {
      const result = matched(match(phrase(2, (reference.expected as number[])[i]!), phrase(2)));
      expect(Math.abs(result.inGainDb + levelDb) <= 1e-9).toBe(true);
    });
  });

  it('MATCH-BS1116: the level of each of n equal loudspeakers adds up to 85 dBA', () => {
    const reference = check('MATCH-BS1116');
    const levels = numbersInput(reference, 'n').map((n) => {
      const one = measureLoudness([phrase(2)], rateHz).integratedLufs;
      return 85 - (measureLoudness(Array.from({ length: n }, () => phrase(2)), rateHz).integratedLufs - one);
    });
    expectWithin(reference, [...levels, 0.25]);
  });

  it('measures the second pass: what only the first pass holds does not count', () => {
    const matcher = new LevelMatcher(rateHz, 1, 2);
    const loud = phrase(2, 3);
    const usual = phrase(2);
    matcher.warmUp('in', [loud], 0, loud.length);
    matcher.warmUp('out', [usual, usual], 0, usual.length);
    for (let at = 0; at < usual.length; at += 1_000) {
      matcher.measure('in', [usual], at, 1_000);
      matcher.measure('out', [usual, usual], at, 1_000);
    }
    const result = matched(matcher.result());
    // Two channels are 3.01 dB louder than one; 0.001 dB: the tail of the loud pass in the filters.
    expect(Math.abs(result.outGainDb + 3.0103) <= 1e-3, String(result.outGainDb)).toBe(true);
    expect(result.inGainDb).toBe(0);
  });

  it('does nothing between equals', () => {
    expect(match(phrase(1), phrase(1))).toMatchObject({ kind: 'matched', inGainDb: 0, outGainDb: 0, residualDb: 0 });
  });

  it('corrects a gain that carries quiet blocks through the gate', () => {
    const tone = (lufs: number) => (_: unknown, i: number): number => 10 ** ((lufs + 3.0103) / 20) * Math.sin((2 * Math.PI * 997 * i) / rateHz);
    const half = { length: 4 * rateHz };
    // By hand: 4 s at −50 and 4 s at −58 LUFS are −52.4 together. Down by 12.6 the second half falls under −70, and the first alone reads
    // −62.6; it takes 15 dB to bring it to −65.
    const steps = Float64Array.from([...Array.from(half, tone(-50)), ...Array.from(half, tone(-58))]);
    const result = matched(match(steps, Float64Array.from(half, tone(-65))));
    // 0.2 dB: the blocks that lie across the step.
    expect(Math.abs(result.inGainDb + 15) <= 0.2, String(result.inGainDb)).toBe(true);
    expect(Math.abs(result.residualDb) <= 1e-4).toBe(true);
  });

  it('says why it cannot match', () => {
    const usual = phrase(1);
    const silent = new Float64Array(rateHz);
    const broken = usual.slice();
    broken[30_000] = NaN;
    const infinite = usual.slice();
    infinite[30_000] = Infinity;
    expect(reasonOf(match(usual.subarray(0, 19_199), usual))).toBe('region-too-short');
    expect(reasonOf(match(silent, usual))).toBe('in-silent');
    expect(reasonOf(match(usual, silent))).toBe('out-silent');
    expect(reasonOf(match(broken, usual))).toBe('in-not-finite');
    expect(reasonOf(match(usual, infinite))).toBe('out-not-finite');
    expect(match(usual, phrase(1, 0.009))).toEqual({
      kind: 'cannot-match', reason: 'too-far-apart', sentence: 'In and out of circuit are 41 dB apart, more than the 40 dB a match may turn down.',
    });
  });
});
