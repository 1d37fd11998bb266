/** A whole path in compiled code against the readable loops: the same bits, whatever happens on the way. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { heapGrowth } from '../support/heap-growth.ts';
import { SeededRandom } from '../../dsp/math/index.ts';
import { oversamplingFactors, PathRunner, planPath, planSides, type OnTrial, type PathCounters, type PathPlan, type PathSetting, type TrialPlan } from '../../dsp/path/index.ts';
import { installWebAssembly } from '../../dsp/webassembly/index.ts';
import { compiled, firstDifference, recordingShell } from '../support/compiled-code.ts';
import { pathOf, planOf, plucked, threeStages, type StageWish } from './support.ts';

const blockFrames = 1024;

interface Happening {
  readonly frame: number;
  readonly plan?: TrialPlan;
  readonly trialIn?: boolean;
  readonly gains?: { readonly inGain: number; readonly outGain: number };
}

interface Played {
  readonly outputs: readonly Float64Array[];
  readonly counters: PathCounters;
}

/** Plays a path in blocks of 1 … 1024 frames; happenings come before the first block that starts at or after their frame. */
function play(plan: TrialPlan, inputs: readonly Float64Array[], happenings: readonly Happening[] = []): Played {
  const random = new SeededRandom(11);
  const runner = new PathRunner(plan, inputs.length, blockFrames);
  const outputs = inputs.map((input) => new Float64Array(input.length));
  let next = 0;
  for (let frame = 0; frame < inputs[0]!.length;) {
    for (let happening = happenings[next]; happening && happening.frame <= frame; happening = happenings[next]) {
      if (happening.plan) runner.swap(happening.plan, next);
      if (happening.trialIn !== undefined) runner.setTrialIn(happening.trialIn);
      if (happening.gains) runner.setMatchGains(happening.gains);
      next += 1;
    }
    const frames = Math.min(inputs[0]!.length - frame, 1 + Math.floor((blockFrames - 1) * random.nextUnit() ** 4));
    runner.process(inputs.map((input) => input.subarray(frame, frame + frames)), outputs.map((output) => output.subarray(frame, frame + frames)), frames);
    frame += frames;
  }
  const counters = { samples: 0, evaluations: 0, rescues: 0, capHits: 0, nonFinite: 0 };
  runner.readCounters(counters);
  return { outputs, counters };
}

function expectSame(plan: TrialPlan, inputs: readonly Float64Array[], happenings: readonly Happening[] = []): Played {
  const readable = play(plan, inputs, happenings);
  const record = recordingShell();
  const fast = compiled(() => play(plan, inputs, happenings), record.shell);
  fast.outputs.forEach((output, channel) => {
    const at = firstDifference(output, readable.outputs[channel]!);
    expect(at, `channel ${channel}: first difference at this frame`).toBe(-1);
  });
  expect(fast.counters).toEqual(readable.counters);
  // Compiled code did run.
  expect(record.instances).toBeGreaterThan(0);
  return fast;
}

/** Two channels that differ: strings plucked at a third of full scale, one of them turned and louder, so that it clips. */
const stereo = (frames: number): Float64Array[] => [plucked(frames), plucked(frames, 0.9).map((sample) => -sample)];

const changed = (values: StageWish['values']): PathSetting => pathOf([{ stage: threeStages[0], values: values! }, threeStages[1], threeStages[2]]);

describe('a compiled path', () => {
  it.each(oversamplingFactors.flatMap((factor) => (['linear-phase', 'minimum-latency'] as const).map((ladder) => [factor, ladder] as const)))(
    'puts out the bits of the loops at factor %i, %s, mono and stereo', (oversamplingFactor, ladder) => {
      const plan = planOf(pathOf(threeStages, { oversamplingFactor, ladder }));
      expectSame(plan, stereo(1500));
      expectSame(plan, [plucked(1500)]);
    },
  );

  it('does so for every stage, reversed, with a held law', () => {
    const plan = planOf(pathOf([
      'single-ended-field-effect', { stage: 'single-ended-valve', reversed: true }, { stage: 'harmonic-shaping', values: { law: 'held' } }, 'push-pull',
    ], { oversamplingFactor: 4 }));
    expectSame(plan, stereo(3000));
  });

  it('does so on noise far over full scale in one channel, which needs the rescue, while the other is quiet', () => {
    const random = new SeededRandom(20261125);
    const noise = Float64Array.from({ length: 1500 }, () => 10 * random.nextGaussian());
    const { counters } = expectSame(planOf(pathOf(threeStages)), [noise, plucked(1500)]);
    expect(counters.rescues).toBeGreaterThan(100);
  });

  it('does so while values turn, one change upon the other', () => {
    const happenings = [2400, 2700, 3300, 2400, 1800].map((collectorOhms, k) => ({ frame: 200 + 450 * k, plan: planOf(changed({ collectorOhms })) }));
    happenings.push({ frame: 2300, plan: planOf(changed({ collectorOhms: 2200, bypassFarads: 0.5e-3 })) });
    expectSame(planOf(pathOf(threeStages)), stereo(4000), happenings);
  });

  it('does so while order, factor, ladder, level and what is on trial change, in mid-fade, too', () => {
    const happenings: Happening[] = [
      { frame: 100, trialIn: false },
      { frame: 700, plan: planOf(pathOf([threeStages[1], threeStages[0]])) },
      { frame: 900, plan: planOf(pathOf([threeStages[1], threeStages[0]], { oversamplingFactor: 2 })), trialIn: true },
      { frame: 2000, plan: planOf(pathOf([threeStages[1], threeStages[2]], { ladder: 'minimum-latency', fullScaleDbu: 18 })) },
      { frame: 3200, plan: planOf(pathOf(threeStages), { kind: 'stage', key: 's2' }) },
      { frame: 4400, trialIn: false, gains: { inGain: 0.8, outGain: 1 } },
    ];
    expectSame(planOf(pathOf(threeStages)), stereo(6000), happenings);
  });

  it.each([['in the middle', 's2'], ['before a circuit', 's1'], ['last', 's3']])('does so with a stage on trial %s, switched to and fro while it changes', (_where, key) => {
    const onTrial: OnTrial = { kind: 'stage', key };
    const plan = (values: StageWish['values'] = {}): PathPlan => planOf(pathOf([{ stage: 'single-ended-bipolar', values }, 'push-pull', 'harmonic-shaping']), onTrial);
    const happenings: Happening[] = [
      { frame: 300, trialIn: false }, { frame: 500, trialIn: true, plan: plan({ collectorOhms: 2400 }) }, { frame: 1500, trialIn: false, gains: { inGain: 0.5, outGain: 0.9 } },
      { frame: 2400, plan: plan({ collectorOhms: 2700 }) },
    ];
    expectSame(plan(), stereo(3600), happenings);
  });

  it('does so with two paths on trial, of two factors, switched while one of them changes', () => {
    const pair = (values: StageWish['values'], oversamplingFactor: 2 | 4): TrialPlan =>
      planSides({ path: { ...changed(values), oversamplingFactor } }, { path: pathOf(['harmonic-shaping'], { oversamplingFactor: 8 }) }, 48_000);
    const happenings: Happening[] = [
      { frame: 300, trialIn: false }, { frame: 500, trialIn: true, plan: pair({ collectorOhms: 2400 }, 2) }, { frame: 1500, trialIn: false, gains: { inGain: 0.5, outGain: 0.9 } },
      { frame: 2400, plan: pair({ collectorOhms: 2400 }, 4), trialIn: true }, { frame: 3400, plan: planOf(pathOf(['push-pull'])) },
    ];
    expectSame(pair({}, 2), stereo(4500), happenings);
  });

  it('does so when a circuit comes to need a dearer rule, for which there is room', () => {
    const [plain, dear] = (['T1', 'T24'] as const).map((rule) => planPath(pathOf(threeStages), 48_000, { rule })) as [PathPlan, PathPlan];
    const record = recordingShell();
    compiled(() => { new PathRunner(plain, 2, 128).swap(dear, 1); }, record.shell);
    expect(record.memories).toHaveLength(1);
    expectSame(plain, stereo(2400), [{ frame: 300, plan: dear }, { frame: 1200, plan: plain }]);
  });

  it('does so when a program has no room in its place, which makes it a change of structure', () => {
    const [small, large] = [planOf(pathOf(['harmonic-shaping'])), planOf(pathOf(['push-pull']))];
    const grown = { ...small, stages: [{ ...small.stages[0]!, wired: large.stages[0]!.wired }] };
    const count = (plan: PathPlan): number => {
      const record = recordingShell();
      compiled(() => { new PathRunner(small, 1, 128).swap(plan, 1); }, record.shell);
      return record.memories.length;
    };
    expect([count(planOf(pathOf([{ stage: 'harmonic-shaping', values: { makeUpDb: -3 } }]))), count(grown)]).toEqual([1, 2]);
    expectSame(small, stereo(1500), [{ frame: 300, plan: grown }]);
  });

  it('does so through numbers that are none, and through signals no circuit could have', () => {
    const [left, right] = stereo(3000) as [Float64Array, Float64Array];
    left.set([NaN, Infinity, -Infinity], 700);
    right[701] = NaN;
    left[1500] = 1e200;
    right[1700] = -1e300;
    const { counters } = expectSame(planOf(pathOf(threeStages)), [left, right], [{ frame: 690, plan: planOf(changed({ collectorOhms: 2400 })) }]);
    expect(counters.nonFinite).toBeGreaterThanOrEqual(4);
  });
});

describe('the memory of a compiled path', () => {
  const record = recordingShell();
  beforeAll(() => installWebAssembly(record.shell));
  afterAll(() => installWebAssembly(null));

  it('is one, and neither grows nor gets new code while values are turned', () => {
    // Choosing a rule works in a memory of its own.
    const start = planOf(pathOf(threeStages));
    const turned = Array.from({ length: 60 }, (_, turn) => planOf(changed({ collectorOhms: 2000 + 10 * turn, bypassFarads: (1 + turn / 60) * 1e-4 })));
    const dropped = Array.from({ length: 20 }, (_, turn) => planOf(changed({ collectorOhms: 1900 + 30 * turn })));
    record.memories.length = 0;
    record.instances = 0;
    const runner = new PathRunner(start, 2, 128);
    expect(record.memories.length).toBe(1);
    const { buffer } = record.memories[0]!;
    const { byteLength } = buffer;
    const { instances } = record;
    expect(instances).toBeGreaterThan(0);
    const input = plucked(128);
    for (let turn = 0; turn < 60; turn += 1) {
      if (turn % 3 === 0) runner.swap(dropped[turn / 3]!, turn);
      runner.swap(turned[turn]!, turn);
      for (let block = 0; block < (turn % 4 === 0 ? 1 : 6); block += 1) runner.process([input, input], [new Float64Array(128), new Float64Array(128)], 128);
    }
    expect(record.memories.length).toBe(1);
    expect(record.memories[0]!.buffer).toBe(buffer);
    expect(buffer.byteLength).toBe(byteLength);
    expect(record.instances).toBe(instances);
  });

  it('belongs to one structure: another gets its own', () => {
    const [first, second] = [planOf(pathOf(threeStages)), planOf(pathOf([threeStages[1]]))];
    const before = record.memories.length;
    const runner = new PathRunner(first, 1, 128);
    runner.swap(second, 1);
    expect(record.memories.length).toBe(before + 2);
  });

  it('stays as it is when nothing is allocated for a block', async () => {
    const runner = new PathRunner(planOf(pathOf(threeStages)), 2, 128);
    const input = plucked(128);
    const inputs = [input, input];
    const outputs = [new Float64Array(128), new Float64Array(128)];
    // One boxed number an internal sample would be 100 · 1024 · 12 bytes or more.
    const enough = 100_000;
    expect(await heapGrowth(() => runner.process(inputs, outputs, 128), { warmUp: 300, blocks: 100, enough }), 'bytes in 100 blocks').toBeLessThan(enough);
  });
});
