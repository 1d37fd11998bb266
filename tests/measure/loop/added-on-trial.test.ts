/** What the thing on trial adds, to be heard alone: nothing where it is linear, the closed form where its law is known, and with what counts as linear all that parts the two sides. */
import { beforeAll, describe, expect, it } from 'vitest';
import { measureLoudness } from '../../../dsp/listening/index.ts';
import { addedOnTrialInSteps, differenceRaiseInSteps, playRound, type AddedOnTrial } from '../../../dsp/measure/loop/index.ts';
import { pairOf, planPath, type MatchGains, type OnTrial, type TrialPlan } from '../../../dsp/path/index.ts';
import { dbuToPeakVolts } from '../../../dsp/stages/index.ts';
import { installCompiledCode } from '../../../worklets/compiled-code.ts';
import { pathOf, plucked, rateHz, sine, toDb, type StageWish } from '../../path/support.ts';

beforeAll(() => { installCompiledCode(true); });

function finished<Result>(steps: Generator<unknown, Result>): Result {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

const alike: MatchGains = { inGain: 1, outGain: 1 };
const added = (plan: TrialPlan, loop: Float64Array, gains = alike): AddedOnTrial => finished(addedOnTrialInSteps(plan, [loop], gains));
const planned = (wishes: readonly (string | StageWish)[], onTrial: OnTrial = { kind: 'path' }): ReturnType<typeof planPath> => planPath(pathOf(wishes, { oversamplingFactor: 2 }), rateHz, { onTrial });

function rms(samples: Float64Array): number {
  let sum = 0;
  for (const sample of samples) sum += sample * sample;
  return Math.sqrt(sum / samples.length);
}

const belowDb = ({ channels, heard }: AddedOnTrial): number => toDb(rms(channels[0]!) / rms(heard[0]!));

const bell: StageWish = { stage: 'equaliser', values: { section1Kind: 'bell', section1Hz: 600, section1Db: 12, section1Quality: 6 } };

/** The shaping stage with a second harmonic of its own at line level, band limit far off. */
function bending(secondDb: number): StageWish {
  return { stage: 'harmonic-shaping', values: { secondSign: 'positive', secondDb, thirdSign: 'off', bandLimitHz: 40e3, referenceDbu: 4 } };
}

describe('a linear path', () => {
  it.each<[string, TrialPlan]>([
    ['whole', planned([bell, bell])],
    ['one of its stages', planned([bell, bell], { kind: 'stage', key: 's2' })],
    ['beside another linear one', pairOf(planned([bell]), planned([bell, bell]))],
  ])('leaves nothing, %s: under −250 dB, and nothing to raise', (_, plan) => {
    const found = added(plan, plucked(14_400));
    const db = belowDb(found);
    if (!(db <= -250)) throw new Error(`${db} dB, limit −250 dB`);
    expect(finished(differenceRaiseInSteps(found.channels, found.heard, rateHz)).mostDb).toBeNull();
  });
});

describe('a law that is known', () => {
  /** y = x + 2 h A0 (x/A0)² of two equal tones: power of their sum, difference and seconds; the direct voltage and the difference below 20 Hz are none of it. */
  const peak = 0.05;
  const second = 0.01;
  const reference = dbuToPeakVolts(4) / dbuToPeakVolts(24);
  const loop = sine(1000, peak, 28_800).map((sample, i) => sample + peak * Math.sin((2 * Math.PI * 700 * i) / rateHz));
  const products = (h: number): number => Math.sqrt((2 * h * reference * (peak / reference) ** 2) ** 2 * (1 / 8 + 1 / 8 + 1 / 2 + 1 / 2));

  it.each<[string, TrialPlan, MatchGains, number]>([
    ['of the whole path', planned([bending(-40)]), alike, products(second)],
    ['under the gain of the match', planned([bending(-40)]), { inGain: 0.5, outGain: 1 }, 0.5 * products(second)],
    ['of the second stage alone', planned([bending(-40), bending(-40)], { kind: 'stage', key: 's2' }), alike, products(second)],
    ['of one of a pair less the other', pairOf(planned([bending(-40)]), planned([bending(-46.0206)])), alike, products(second / 2)],
    ['of a pair the other way round, of another polarity', pairOf(planned([bending(-46.0206)]), planned([{ ...bending(-40), reversed: true }])), alike, products(second / 2)],
    ['that cancels in a pair', pairOf(planned([bending(-40)]), planned([bending(-40)])), alike, 0],
  ])('is found at the right level: %s', (_, plan, gains, expected) => {
    const level = rms(added(plan, loop, gains).channels[0]!);
    if (expected === 0) {
      expect(toDb(level / peak)).toBeLessThan(-250);
      return;
    }
    const db = toDb(level / expected);
    // 0.1 dB: the moving gain takes a little of what beats slowly; products of products of two stages in series.
    if (!(Math.abs(db) <= 0.1)) throw new Error(`${db} dB off`);
  });
});

describe('what is added and what counts as linear', () => {
  const gains = { inGain: 0.8, outGain: 0.9 };
  const loop = plucked(14_400, 0.3);
  const circuits = ['single-ended-bipolar', 'push-pull', bending(-40)] as const;

  it.each<[string, TrialPlan, boolean]>([
    ['the whole path', planned(circuits), false],
    ['the first stage, which inverts', planned(circuits, { kind: 'stage', key: 's1' }), true],
    ['a stage between others', planned(circuits, { kind: 'stage', key: 's2' }), true],
    ['one mechanism', planned(circuits, { kind: 'without', key: 's2', mechanism: 'crossover' }), true],
    ['a pair of which one inverts', pairOf(planned(['push-pull']), planned(['single-ended-bipolar'])), true],
  ])('are all that parts the two sides, to 1e-9: %s', (_, plan, isCompared) => {
    const found = added(plan, loop, gains);
    const [inside, outside] = [true, false].map((trialIn) => finished(playRound(plan, [loop], { trialIn })).channels[0]!);
    for (let i = 0; i < loop.length; i += 1) {
      const expected = gains.inGain * inside![i]! - (isCompared ? gains.outGain * outside![i]! : 0);
      const off = Math.abs(found.channels[0]![i]! + found.linear[0]![i]! - expected);
      if (!(off <= 1e-9)) throw new Error(`frame ${i}: ${off}`);
    }
    expect(belowDb(found)).toBeGreaterThan(-100);
    expect(Math.abs(toDb(rms(found.heard[0]!) / (gains.inGain * rms(inside!)))) < 1e-6).toBe(true);
  });
});

describe('how far it is raised', () => {
  it('is in whole decibels no louder than the programme, at first 6 dB under it, and never beyond −1 dBFS', () => {
    const loop = plucked(72_000, 0.2);
    const found = added(planned([bending(-40)]), loop);
    const raise = finished(differenceRaiseInSteps(found.channels, found.heard, rateHz));
    if (raise.mostDb === null) throw new Error('expected something to raise');
    const at = (db: number) => measureLoudness(found.channels.map((channel) => channel.map((sample) => sample * 10 ** (db / 20))), rateHz);
    const programme = measureLoudness(found.heard, rateHz).integratedLufs;
    expect([Number.isInteger(raise.mostDb), Number.isInteger(raise.chosenDb)]).toEqual([true, true]);
    expect(at(raise.mostDb).integratedLufs).toBeLessThanOrEqual(programme);
    expect(at(raise.mostDb + 1).integratedLufs).toBeGreaterThan(programme);
    expect(raise.chosenDb).toBe(raise.mostDb - 6);
    expect(Math.abs(raise.belowDb - belowDb(found))).toBeLessThan(1e-9);
    // A click that is loud by its peak alone.
    const click = loop.map((_, i) => (i % 24_000 === 0 ? 1e-3 : 1e-7 * Math.sin(i)));
    const held = finished(differenceRaiseInSteps([click], [loop], rateHz));
    expect(Math.abs(held.mostDb! - 59) <= 1).toBe(true);
  });

  it('goes by r.m.s. where a region is too short for loudness', () => {
    const loop = plucked(9600, 0.2);
    const raise = finished(differenceRaiseInSteps([loop.map((sample) => 0.001 * sample)], [loop], rateHz));
    expect(raise).toMatchObject({ mostDb: 60, chosenDb: 54 });
  });
});
