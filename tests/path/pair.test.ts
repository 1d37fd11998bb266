import { beforeAll, describe, expect, it } from 'vitest';
import { heapGrowth } from '../support/heap-growth.ts';
import {
  fadeFrames, fadeWeights, isPairPlan, kernelModules, landingFrames, oversamplingFactors, PathRunner, pathsOf, planSides, surroundings, type PairPlan, type PathEvent, type PathSetting, type TrialPlan,
} from '../../dsp/path/index.ts';
import { defaultValues } from '../../dsp/stages/index.ts';
import { installCompiledCode } from '../../worklets/compiled-code.ts';
import { countersOf, firstDifference, largestDifference, nominalPeak, pathOf, planOf, plucked, rateHz, renderAll, renderInPieces, sine, threeStages, toDb } from './support.ts';

beforeAll(() => { installCompiledCode(true); });

const pairOfPaths = (first: PathSetting, second: PathSetting): PairPlan => planSides({ path: first }, { path: second }, rateHz);
const dark = pathOf([threeStages[0], { stage: 'harmonic-shaping', values: { thirdDb: -50 } }], { oversamplingFactor: 2 });
const plain = pathOf(['harmonic-shaping', threeStages[1]], { oversamplingFactor: 4 });
const darker = pathOf([{ stage: threeStages[0], values: { collectorOhms: 2400 } }, { stage: 'harmonic-shaping', values: { thirdDb: -50 } }], { oversamplingFactor: 2 });
const sides = [['first', true], ['second', false]] as const;

/** What comes out block by block; `at` may change things before a block. */
function played(plan: TrialPlan, input: Float64Array, at: (frame: number, runner: PathRunner) => void, block = 128): { output: Float64Array; runner: PathRunner } {
  const runner = new PathRunner(plan, 1, block);
  at(0, runner);
  runner.reset();
  return { output: playedBy(runner, input, at, block), runner };
}

function playedBy(runner: PathRunner, input: Float64Array, at: (frame: number, runner: PathRunner) => void = () => undefined, block = 128): Float64Array {
  const output = new Float64Array(input.length);
  for (let frame = 0; frame < input.length; frame += block) {
    if (frame > 0) at(frame, runner);
    const frames = Math.min(block, input.length - frame);
    runner.process([input.subarray(frame, frame + frames)], [output.subarray(frame, frame + frames)], frames);
  }
  return output;
}

describe('two paths as a pair', () => {
  it.each(sides)('give, the %s one heard, the bits of that path rendered alone', (_, trialIn) => {
    const input = plucked(4000);
    const alone = renderAll(planOf(trialIn ? dark : plain), [input])[0]!;
    const pair = pairOfPaths(dark, plain);
    const heard = renderAll(pair, [input], { trialIn })[0]!;
    const sign = trialIn ? 1 : pair.trialPolarity;
    expect(firstDifference(heard, alone.map((sample) => sign * sample + 0))).toBe(-1);
  });

  it('come with a latency of whole frames, the longer one of the two, whichever side it is on', () => {
    for (const [first, second] of [[1, 8], [16, 2], [8, 8]] as const) {
      const plan = pairOfPaths(pathOf([], { oversamplingFactor: first }), pathOf([], { oversamplingFactor: second }));
      const own = pathsOf(plan).map((path) => new PathRunner(path, 1, 128).latencyFrames);
      expect(new PathRunner(plan, 1, 128).latencyFrames).toBe(Math.max(...own));
    }
  });

  it.each(oversamplingFactors)('stand on the same sample: a band-limited pulse at factor %i beside 8', (oversamplingFactor) => {
    const frames = 2000;
    // A Gaussian of 3 kHz width: nothing near half the base rate, where ladders differ.
    const pulse = Float64Array.from({ length: frames }, (_, i) => 0.5 * Math.exp(-(((i - 700) / 8) ** 2)));
    const plan = pairOfPaths(pathOf([], { oversamplingFactor }), pathOf([]));
    const latency = new PathRunner(plan, 1, 128).latencyFrames;
    for (const [, trialIn] of sides) {
      const { output } = played(plan, pulse, (_, runner) => runner.setTrialIn(trialIn));
      const expected = new Float64Array(frames);
      expected.set(pulse.subarray(0, frames - latency), latency);
      // Half-band ripple, ±0.001 dB; one frame off would be 0.05.
      const off = largestDifference(output, expected);
      expect(off <= 1e-4, `${off}`).toBe(true);
      expect(output.indexOf(Math.max(...output))).toBe(700 + latency);
    }
  });

  it('turn the second where one of them inverts', () => {
    const inverting = pathOf(['single-ended-bipolar'], { oversamplingFactor: 2 });
    const upright = { ...inverting, stages: inverting.stages.map((stage) => ({ ...stage, reversed: true })) };
    const input = sine(1000, nominalPeak, 12_000);
    for (const [first, second, polarity] of [[inverting, upright, -1], [upright, inverting, -1], [inverting, inverting, 1]] as const) {
      const plan = pairOfPaths(first, second);
      expect(plan.trialPolarity).toBe(polarity);
      const [one, other] = sides.map(([, trialIn]) => renderAll(plan, [input], { trialIn })[0]!) as [Float64Array, Float64Array];
      // The same stage, upside down and turned back: the last bits of a negation inside and one outside.
      expect(largestDifference(one, other) <= 1e-12).toBe(true);
    }
  });

  it('have each its own calibration: a louder full scale drives the same stage harder', () => {
    const quiet = pathOf(['single-ended-bipolar'], { oversamplingFactor: 2, fullScaleDbu: 18 });
    const loud = pathOf(['single-ended-bipolar'], { oversamplingFactor: 2, fullScaleDbu: 24 });
    const input = plucked(2000);
    const plan = pairOfPaths(quiet, loud);
    for (const [k, [, trialIn]] of sides.entries()) expect(firstDifference(renderAll(plan, [input], { trialIn })[0]!, renderAll(planOf([quiet, loud][k]!), [input])[0]!)).toBe(-1);
  });

  it('leave out what the source would drive past them', () => {
    const between = { ...pathOf([]), surroundings: defaultValues(surroundings) };
    expect(planOf(between).direct).not.toBeNull();
    const plan = planSides({ path: between }, { path: between }, rateHz);
    expect(pathsOf(plan).map(({ direct }) => direct)).toEqual([null, null]);
  });

  it('refuse two base rates', () => {
    const runner = new PathRunner(pairOfPaths(dark, plain), 1, 128);
    expect(() => runner.swap(planSides({ path: dark }, { path: plain }, 96_000))).toThrow('expected 48000 Hz as before, got 96000 Hz');
  });

  it('treat channels alike and apart', () => {
    const plan = pairOfPaths(dark, plain);
    const [left, right] = [plucked(1500), sine(777, 0.4, 1500)];
    for (const [, trialIn] of sides) {
      const stereo = renderAll(plan, [left, right], { trialIn });
      expect(firstDifference(stereo[0]!, renderAll(plan, [left], { trialIn })[0]!)).toBe(-1);
      expect(firstDifference(stereo[1]!, renderAll(plan, [right], { trialIn })[0]!)).toBe(-1);
    }
  });

  it('count for both', () => {
    const input = plucked(1024);
    const counted = countersOf(played(pairOfPaths(dark, plain), input, () => undefined).runner);
    const own = [dark, plain].map((path) => countersOf(played(planOf(path), input, () => undefined).runner));
    expect(counted.samples).toBe(own[0]!.samples + own[1]!.samples);
    expect(counted.evaluations).toBe(own[0]!.evaluations + own[1]!.evaluations);
  });

  it('need the kernels of both, each once', () => {
    const keys = (plan: TrialPlan): string[] => kernelModules(plan).map(({ key }) => key).toSorted();
    expect(keys(pairOfPaths(dark, plain))).toEqual([...new Set([...keys(planOf(dark)), ...keys(planOf(plain))])].toSorted());
    expect(keys(pairOfPaths(dark, darker))).toEqual(keys(planOf(dark)));
  });
});

describe('the switch between two paths', () => {
  const straight = pathOf([], { oversamplingFactor: 2 });

  it('is the switch of any trial, to the bit', () => {
    const input = plucked(6000);
    const events: PathEvent[] = [{ frame: 1000, trialIn: false }, { frame: 2001, gains: { inGain: 0.8, outGain: 0.5 } }, { frame: 3500, trialIn: true }];
    const gains = { inGain: 1, outGain: 0.25 };
    const trial = renderAll(planOf(straight), [input], { events, gains })[0]!;
    const pair = renderAll(pairOfPaths(straight, straight), [input], { events, gains })[0]!;
    // The dry signal goes up and down without the volts in between: rounding of that product.
    expect(toDb(largestDifference(trial, pair) / 0.3) <= -290).toBe(true);
  });

  it('has one envelope on one grid, mirrored, whatever the factors', () => {
    const input = new Float64Array(4096).fill(0.5);
    const weights = fadeWeights(fadeFrames(rateHz));
    const plan = pairOfPaths(straight, pathOf([], { oversamplingFactor: 8 }));
    const silentSecond = { inGain: 1, outGain: 0 };
    for (const asked of [1024, 1056, 2048 + 32]) {
      for (const toIn of [true, false]) {
        const { output } = played(plan, input, (frame, runner) => {
          if (frame === 0) {
            runner.setMatchGains(silentSecond);
            runner.setTrialIn(!toIn);
          }
          if (frame === asked) runner.setTrialIn(toIn);
        }, 32);
        const begins = Math.ceil(asked / landingFrames) * landingFrames;
        for (let k = 0; k < weights.length - 1; k += 1) {
          const weight = toIn ? weights[k + 1]! : 1 - weights[k + 1]!;
          const off = Math.abs(output[begins + k]! / 0.5 - weight);
          // Half-band ripple at 0 Hz.
          if (!(off <= 2e-4)) throw new Error(`asked at ${asked}, ${k} frames in: ${output[begins + k]! / 0.5}, expected ${weight}`);
        }
      }
    }
  });

  it('leaves no trace where both sides are the same', () => {
    const input = plucked(9000);
    const plan = pairOfPaths(dark, dark);
    const steady = played(plan, input, () => undefined).output;
    const switched = played(plan, input, (frame, runner) => { if (frame === 4096) runner.setTrialIn(false); }).output;
    expect(toDb(largestDifference(switched, steady) / 0.3) <= -290).toBe(true);
  });
});

describe('a change of one of two paths', () => {
  const warmer = pathOf([{ stage: 'harmonic-shaping', values: { secondDb: -50 } }, threeStages[1]], { oversamplingFactor: 4 });
  const changed = pairOfPaths(darker, plain);
  const longer = pathOf([...dark.stages.map(({ stage, values }) => ({ stage, values })), 'harmonic-shaping'], { oversamplingFactor: 2 });

  it.each([['a value', darker, -Infinity], ['a stage more', longer, -290]] as const)('leaves the other as it plays: %s', (_, next, limitDb) => {
    const input = plucked(12_000);
    const before = pairOfPaths(dark, plain);
    const after = pairOfPaths(next, plain);
    const steady = played(before, input, (_frame, runner) => runner.setTrialIn(false)).output;
    const { output, runner } = played(before, input, (frame, each) => {
      each.setTrialIn(false);
      if (frame === 4096) each.swap(after, 7);
    });
    expect([runner.landedRevision, runner.plan, runner.fading]).toEqual([7, after, false]);
    const off = toDb(largestDifference(output, steady) / 0.3);
    expect(off <= limitDb, `${off} dB`).toBe(true);
  });

  it('fades the side that changes as it does in a path alone', () => {
    const input = plucked(12_000);
    const turned = (from: TrialPlan, to: TrialPlan): Float64Array => played(from, input, (frame, runner) => { if (frame === 4096) runner.swap(to, 1); }).output;
    // Both of the latency of factor 2 here, so that frames agree.
    const beside = pathOf(['harmonic-shaping'], { oversamplingFactor: 2 });
    expect(firstDifference(turned(pairOfPaths(dark, beside), pairOfPaths(darker, beside)), turned(planOf(dark), planOf(darker)))).toBe(-1);
    expect(firstDifference(turned(pairOfPaths(dark, beside), pairOfPaths(longer, beside)), turned(planOf(dark), planOf(longer)))).toBe(-1);
  });

  it('may come with a change of values of the other, which fades as it does alone', () => {
    const input = plucked(12_000);
    const before = pairOfPaths(dark, plain);
    const after = pairOfPaths(longer, warmer);
    const heard = played(before, input, (frame, runner) => {
      runner.setTrialIn(false);
      if (frame === 4096) runner.swap(after, 1);
    }).output;
    const alone = played(before.out, input, (frame, runner) => { if (frame === 4096) runner.swap(after.out, 1); }).output;
    const late = new PathRunner(before, 1, 128).latencyFrames - new PathRunner(before.out, 1, 128).latencyFrames;
    const left = toDb(largestDifference(heard.subarray(late), alone.map((sample) => before.trialPolarity * sample), 0, input.length - late) / 0.3);
    expect(left <= -290, `${left} dB`).toBe(true);
  });

  it('is whole after a reset, whatever waited', () => {
    const input = plucked(2000);
    for (const next of [changed, pairOfPaths(longer, darker), pairOfPaths(longer, warmer), planOf(dark)]) {
      const fresh = played(next, input, (_, each) => each.setTrialIn(!isPairPlan(next))).output;
      const runner = new PathRunner(pairOfPaths(dark, plain), 1, 128);
      runner.setTrialIn(!isPairPlan(next));
      playedBy(runner, input);
      runner.swap(next, 3);
      runner.reset();
      expect(runner.landedRevision).toBe(3);
      expect(firstDifference(playedBy(runner, input), fresh)).toBe(-1);
      runner.rehearse();
      playedBy(runner, input.subarray(0, 256));
      runner.reset();
      expect(firstDifference(playedBy(runner, input), fresh)).toBe(-1);
    }
  });

  it('puts out the same bits however the input is cut, between one path and two as well', () => {
    const pair = pairOfPaths(dark, plain);
    const events: PathEvent[] = [
      { frame: 100, trialIn: false }, { frame: 333, plan: changed }, { frame: 900, plan: pairOfPaths(longer, plain) }, { frame: 910, trialIn: true },
      { frame: 2000, plan: planOf(dark) }, { frame: 2700, plan: pair, trialIn: false },
    ];
    const input = plucked(4500);
    const whole = renderInPieces(pair, input, [4500], { events });
    for (const pieces of [[1, 31, 128], [997]]) expect(firstDifference(renderInPieces(pair, input, pieces, { events }), whole)).toBe(-1);
  });

  it('goes from one path to two without a jump where the first goes on', () => {
    const input = sine(220, nominalPeak, 14_400);
    const steady = played(planOf(dark), input, () => undefined).output;
    const beside = pathOf(['harmonic-shaping'], { oversamplingFactor: 2 });
    const joined = played(planOf(dark), input, (frame, runner) => { if (frame === 9600) runner.swap(pairOfPaths(dark, beside), 1); });
    const left = toDb(largestDifference(joined.output, steady) / nominalPeak);
    // Memory is carried over, the filters' own is refilled.
    expect(left <= -90, `${left} dB`).toBe(true);
    expect(joined.runner.fading).toBe(false);
  });
});

describe('a pair in the audio callback', () => {
  it('allocates nothing for a block, switches and fades included', async () => {
    const runner = new PathRunner(pairOfPaths(dark, plain), 2, 128);
    const input = plucked(128);
    const inputs = [input, input];
    const outputs = [new Float64Array(128), new Float64Array(128)];
    const block = (number: number) => {
      if (number % 25 === 0) runner.setTrialIn(number % 50 === 0);
      runner.process(inputs, outputs, 128);
    };
    // One boxed number a frame and channel would be 100 · 256 · 12 bytes or more.
    const enough = 100_000;
    expect(await heapGrowth(block, { warmUp: 300, blocks: 100, enough }), 'bytes in 100 blocks').toBeLessThan(enough);
  });
});
