import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { oversamplingFactors, PathError, PathRunner, planPath, type PathPlan, type PathSetting, type PlannedProgram } from '../../dsp/path/index.ts';
import { firstDifference, largestDifference, nominalPeak, pathOf, planOf, plucked, renderAll, renderInPieces, sine, threeStages, toDb } from './support.ts';

/** What comes out of a runner block by block; `at` may change things before a block. */
function run(runner: PathRunner, input: Float64Array, block: number, at: (frame: number) => void = () => undefined): Float64Array {
  const output = new Float64Array(input.length);
  for (let frame = 0; frame < input.length; frame += block) {
    at(frame);
    const frames = Math.min(block, input.length - frame);
    runner.process([input.subarray(frame, frame + frames)], [output.subarray(frame, frame + frames)], frames);
  }
  return output;
}

describe('a running path', () => {
  it('puts out the same bits however its input is cut', () => {
    const plan = planOf(pathOf(threeStages));
    const input = plucked(3000);
    const whole = renderInPieces(plan, input, [3000]);
    fc.assert(fc.property(fc.array(fc.integer({ min: 1, max: 700 }), { minLength: 1, maxLength: 6 }), (pieces) => {
      expect(firstDifference(renderInPieces(plan, input, pieces), whole)).toBe(-1);
    }), { seed: 20261125, numRuns: 6 });
  });

  it('puts out the same bits however its input is cut while switches and values change', () => {
    const before = planOf(pathOf(threeStages));
    const after = planOf(pathOf([{ stage: threeStages[0], values: { collectorOhms: 2400 } }, threeStages[1], threeStages[2]]));
    const reordered = planOf(pathOf([threeStages[1], threeStages[0]]));
    const events = [{ frame: 100, trialIn: false }, { frame: 333, plan: after }, { frame: 640, trialIn: true }, { frame: 1500, plan: reordered }];
    const input = plucked(4000);
    const whole = renderInPieces(before, input, [4000], { events });
    for (const pieces of [[1, 31, 128], [128], [997]]) expect(firstDifference(renderInPieces(before, input, pieces, { events }), whole)).toBe(-1);
  });

  it('is after a reset what it was when new', () => {
    const runner = new PathRunner(planOf(pathOf(threeStages)), 1, 128);
    const input = plucked(2000);
    const first = run(runner, input, 128);
    runner.reset();
    expect(firstDifference(run(runner, input, 128), first)).toBe(-1);
  });

  it('rehearses a take-over and is then, after a reset, what it was', () => {
    const [plan, other] = [planOf(pathOf(threeStages)), planOf(pathOf([threeStages[1], threeStages[0]]))];
    const input = plucked(2000);
    const runner = new PathRunner(plan, 1, 128, 3);
    const first = run(runner, input, 128);
    runner.rehearse();
    run(runner, input.subarray(0, 128), 128);
    expect([runner.fading, runner.landedRevision, runner.plan]).toEqual([true, 3, plan]);
    runner.reset();
    expect(firstDifference(run(runner, input, 128), first)).toBe(-1);
    // A change that waits goes first.
    runner.swap(other, 4);
    runner.rehearse();
    runner.reset();
    expect([runner.landedRevision, runner.plan]).toEqual([4, other]);
  });

  it('treats channels alike and apart', () => {
    const plan = planOf(pathOf(threeStages));
    const left = plucked(1500);
    const right = sine(777, 0.4, 1500);
    const stereo = renderAll(plan, [left, right]);
    const swapped = renderAll(plan, [right, left]);
    expect(firstDifference(stereo[0]!, swapped[1]!)).toBe(-1);
    expect(firstDifference(stereo[1]!, swapped[0]!)).toBe(-1);
    expect(firstDifference(stereo[0]!, renderAll(plan, [left])[0]!)).toBe(-1);
  });

  it('replaces what is not finite by silence, says so, and goes on', () => {
    const runner = new PathRunner(planOf(pathOf(threeStages)), 1, 128);
    const input = sine(1000, nominalPeak, 6000);
    input.set([NaN, Infinity, -Infinity], 500);
    const output = run(runner, input, 128);
    expect(output.every(Number.isFinite)).toBe(true);
    const counters = { samples: 0, evaluations: 0, rescues: 0, capHits: 0, nonFinite: 0 };
    runner.readCounters(counters);
    expect(counters.nonFinite).toBe(3);
    expect(counters.samples).toBeGreaterThan(0);
    const peakLater = output.subarray(5000).reduce((peak, sample) => Math.max(peak, Math.abs(sample)), 0);
    // Within 20 % of the level before: the stages are at unity gain at this level.
    expect(Math.abs(peakLater / nominalPeak - 1) <= 0.2).toBe(true);
  });

  it('mutes and says so when a stage itself leaves the numbers, and plays again when it is mended', () => {
    const plan = planOf(pathOf(['harmonic-shaping']));
    const stage = plan.stages[0]!;
    const broken = { ...plan, stages: [{ ...stage, wired: { identity: 'broken', program: { ...stage.wired.program, parameters: new Float64Array(40).fill(NaN) } as never } }] };
    const runner = new PathRunner(broken, 1, 128);
    const input = sine(1000, nominalPeak, 6400);
    const counters = { samples: 0, evaluations: 0, rescues: 0, capHits: 0, nonFinite: 0 };
    const output = run(runner, input, 128, (frame) => {
      if (frame !== 3200) return;
      runner.readCounters(counters);
      runner.swap(plan, 1);
    });
    expect(output.every(Number.isFinite)).toBe(true);
    expect(output.subarray(0, 3200).every((sample) => sample === 0)).toBe(true);
    expect(counters.nonFinite).toBeGreaterThan(0);
    expect(output.subarray(5000).some((sample) => Math.abs(sample) > nominalPeak / 2)).toBe(true);
  });

  it('puts out no minus zero', () => {
    const output = renderAll(planOf(pathOf(threeStages)), [new Float64Array(300)])[0]!;
    expect(output.some((sample) => Object.is(sample, -0))).toBe(false);
  });
});

describe('in and out of circuit', () => {
  const bandLimited = (frames: number): Float64Array => {
    const a = sine(997, 0.2, frames);
    const b = sine(12_345, 0.1, frames);
    return a.map((sample, i) => (sample + b[i]!) * Math.min(1, i / 2000, (frames - 1 - i) / 2000));
  };

  it.each(oversamplingFactors)('out of circuit is the input, aligned, at factor %i with either ladder', (oversamplingFactor) => {
    const input = bandLimited(8000);
    for (const ladder of ['linear-phase', 'minimum-latency'] as const) {
      const plan = planOf(pathOf(['harmonic-shaping'], { oversamplingFactor, ladder }));
      const output = renderAll(plan, [input], { trialIn: false })[0]!;
      // 0.3 × 1.2e-4: ±0.001 dB of ripple. The all-pass ladder is aligned at low frequency alone; its phase at 12 kHz is not judged.
      if (ladder === 'linear-phase') expect(largestDifference(output, input) <= 4e-5).toBe(true);
      const tone = sine(200, 0.2, 8000);
      const heard = renderAll(plan, [tone], { trialIn: false })[0]!;
      expect(largestDifference(heard, tone, 2000, 6000) <= 0.2 * 2e-4).toBe(true);
    }
  });

  it('a path without stages in circuit is its own dry signal to the bit', () => {
    const plan = planOf(pathOf([{ stage: 'push-pull', inCircuit: false }]));
    const input = plucked(1500);
    const wet = renderAll(plan, [input])[0]!;
    const dry = renderAll(plan, [input], { trialIn: false })[0]!;
    expect(largestDifference(wet, dry) <= 1e-15).toBe(true);
  });

  it('turns the dry signal when the path inverts', () => {
    const setting = pathOf(['single-ended-bipolar']);
    const input = sine(1000, nominalPeak, 20_000);
    for (const [reversed, sign] of [[false, -1], [true, 1]] as const) {
      const plan = planOf({ ...setting, stages: [{ ...setting.stages[0]!, reversed }] });
      const dry = renderAll(plan, [input], { trialIn: false })[0]!;
      expect(largestDifference(dry, input.map((sample) => sign * sample), 500, 19_000) <= 2e-5).toBe(true);
      const wet = renderAll(plan, [input])[0]!;
      let product = 0;
      for (let i = 10_000; i < 19_000; i += 1) product += wet[i]! * dry[i]!;
      expect(product).toBeGreaterThan(0);
    }
  });

  it('fades alike in both directions, and is exact at both ends', () => {
    const plan = planOf(pathOf([{ stage: 'push-pull', values: { makeUpDb: -6 } }]));
    const runner = new PathRunner(plan, 1, 128);
    const input = sine(1000, nominalPeak, 9600);
    const wet = run(runner, input, 128);
    const dryRunner = new PathRunner(plan, 1, 128);
    dryRunner.setTrialIn(false);
    dryRunner.reset();
    const dry = run(dryRunner, input, 128);
    const switched = (first: boolean) => {
      const one = new PathRunner(plan, 1, 128);
      one.setTrialIn(first);
      one.reset();
      return run(one, input, 32, (frame) => { if (frame === 4800) one.setTrialIn(!first); });
    };
    const toOut = switched(true);
    const toIn = switched(false);
    expect(firstDifference(toOut.subarray(0, 4800), wet.subarray(0, 4800))).toBe(-1);
    expect(firstDifference(toIn.subarray(0, 4800), dry.subarray(0, 4800))).toBe(-1);
    expect(firstDifference(toOut.subarray(5280), dry.subarray(5280))).toBe(-1);
    expect(firstDifference(toIn.subarray(5280), wet.subarray(5280))).toBe(-1);
    // Equal gain: the two fades add up to both signals. One rounding each.
    const sum = toOut.map((sample, i) => sample + toIn[i]!);
    const both = wet.map((sample, i) => sample + dry[i]!);
    expect(largestDifference(sum, both) <= 1e-15).toBe(true);
    expect(largestDifference(toOut, wet, 4801, 5280)).toBeGreaterThan(1e-4);
  });

  it('a stage on trial sounds, in, as the path with it and, out, as the path without it, to the bit', () => {
    const wishes = ['single-ended-bipolar', 'push-pull', 'single-ended-field-effect'] as const;
    const onTrial = { kind: 'stage', key: 's2' } as const;
    const input = plucked(4000);
    const trial = planOf(pathOf(wishes), onTrial);
    const withIt = planOf(pathOf(wishes));
    const withoutIt = planOf(pathOf([wishes[0], { stage: wishes[1], inCircuit: false }, wishes[2]]));
    expect(firstDifference(renderAll(trial, [input])[0]!, renderAll(withIt, [input])[0]!)).toBe(-1);
    expect(firstDifference(renderAll(trial, [input], { trialIn: false })[0]!, renderAll(withoutIt, [input])[0]!)).toBe(-1);
    // Last in the path, and out of circuit in the setting: still heard when it is switched in.
    const last = pathOf([wishes[0], { stage: wishes[1], inCircuit: false }]);
    expect(firstDifference(renderAll(planOf(last, onTrial), [input])[0]!, renderAll(planOf(pathOf([wishes[0], wishes[1]])), [input])[0]!)).toBe(-1);
    expect(firstDifference(renderAll(planOf(last, onTrial), [input], { trialIn: false })[0]!, renderAll(planOf(last), [input])[0]!)).toBe(-1);
  });

  it('turns the way round an inverting stage on trial, so that polarity does not tell', () => {
    const plan = planOf(pathOf(['single-ended-bipolar', 'push-pull']), { kind: 'stage', key: 's1' });
    const input = sine(1000, nominalPeak, 30_000);
    const inCircuit = renderAll(plan, [input])[0]!;
    const out = renderAll(plan, [input], { trialIn: false })[0]!;
    let product = 0;
    let power = 0;
    for (let i = 20_000; i < 29_600; i += 1) {
      product += inCircuit[i]! * out[i]!;
      power += out[i]! * out[i]!;
    }
    expect(product / power).toBeGreaterThan(0.9);
  });

  it('applies match gains over 10 ms and not before they are asked for', () => {
    const plan = planOf(pathOf(['harmonic-shaping']));
    const runner = new PathRunner(plan, 1, 128);
    const input = sine(1000, nominalPeak, 9600);
    const plain = run(runner, input, 128);
    runner.reset();
    const matched = run(runner, input, 128, (frame) => { if (frame === 3840) runner.setMatchGains({ inGain: 0.5, outGain: 1 }); });
    expect(firstDifference(matched.subarray(0, 3840), plain.subarray(0, 3840))).toBe(-1);
    expect(largestDifference(matched.subarray(4320), plain.subarray(4320).map((sample) => sample * 0.5)) <= 1e-16).toBe(true);
    let steepest = 0;
    for (let i = 3841; i < 4320; i += 1) steepest = Math.max(steepest, Math.abs(matched[i]! / 0.1 - matched[i - 1]! / 0.1));
    expect(steepest).toBeLessThan(0.14);
  });
});

describe('changes on the way', () => {
  it('land on multiples of 32 frames, the newest alone', () => {
    const quieter = (makeUpDb: number): PathSetting => pathOf([{ stage: 'harmonic-shaping', values: { makeUpDb } }]);
    const runner = new PathRunner(planOf(quieter(0)), 1, 128);
    const input = sine(1000, nominalPeak, 3200);
    run(runner, input.subarray(0, 40), 40);
    runner.swap(planOf(quieter(-20)), 1);
    runner.swap(planOf(quieter(-6)), 2);
    run(runner, input.subarray(40, 63), 23);
    expect(runner.landedRevision).toBe(0);
    run(runner, input.subarray(63, 65), 2);
    expect(runner.landedRevision).toBe(2);
    runner.swap(planOf(quieter(-3)), 3);
    run(runner, input.subarray(65, 400), 128);
    expect(runner.landedRevision).toBe(2);
    run(runner, input.subarray(400, 800), 128);
    expect(runner.landedRevision).toBe(3);
  });

  it('end in the path that was asked for, whatever changed', () => {
    const start = pathOf(['push-pull', 'harmonic-shaping']);
    const ends: PathSetting[] = [
      pathOf(['harmonic-shaping', 'push-pull']),
      pathOf([{ stage: 'push-pull', inCircuit: false }, 'harmonic-shaping']),
      pathOf(['push-pull', 'harmonic-shaping'], { oversamplingFactor: 2 }),
      pathOf(['push-pull', 'harmonic-shaping'], { ladder: 'minimum-latency' }),
      pathOf(['push-pull', 'harmonic-shaping'], { fullScaleDbu: 18 }),
      pathOf([{ stage: 'push-pull', reversed: true }, 'harmonic-shaping']),
      pathOf([{ stage: 'push-pull', values: { quiescentAmperes: 1e-3 } }, 'harmonic-shaping']),
    ];
    const input = sine(500, nominalPeak, 24_000);
    for (const end of ends) {
      const runner = new PathRunner(planOf(start), 1, 128);
      const output = run(runner, input, 128, (frame) => { if (frame === 2560) runner.swap(planOf(end), 1); });
      const direct = run(new PathRunner(planOf(end), 1, 128), input, 128);
      // −100 dB of the tone: what is left of the shaping stage's 2 Hz blocking (80 ms) after 350 ms.
      const left = largestDifference(output.subarray(20_000), direct.subarray(20_000)) / nominalPeak;
      expect(left <= 1e-5, `${JSON.stringify(end.stages.map(({ stage }) => stage))}: ${toDb(left)} dB`).toBe(true);
    }
  });

  it('refuse another base rate, and a path that cannot be built, by name', () => {
    const runner = new PathRunner(planOf(pathOf(['push-pull'])), 1, 128);
    expect(() => runner.swap(planPath(pathOf(['push-pull']), 44_100))).toThrow('expected 48000 Hz as before, got 44100 Hz');
    expect(() => planOf(pathOf(['push-pull']), { kind: 'stage', key: 's9' })).toThrow('expected one of the path\'s stages (s1), got s9');
    const unknown = { ...pathOf(['push-pull']), stages: [{ ...pathOf(['push-pull']).stages[0]!, stage: 'ring-modulator' }] };
    expect(() => planOf(unknown)).toThrow(PathError);
    expect(() => planOf(unknown)).toThrow(/^stage 1: .*ring-modulator/);
  });
});

describe('a render', () => {
  it('plays a loop on without a break and keeps its last pass', () => {
    const plan = planOf(pathOf(['push-pull', 'harmonic-shaping']));
    const loop = plucked(2400);
    const twice = new Float64Array(4800);
    twice.set(loop);
    twice.set(loop, 2400);
    const lastPass = renderAll(plan, [loop], { passes: 2 })[0]!;
    const longer = renderAll(plan, [twice])[0]!;
    expect(firstDifference(lastPass, longer.slice(2400))).toBe(-1);
  });

  it('solves more finely in the measuring grade', () => {
    const setting = pathOf(['push-pull']);
    const input = plucked(2400);
    const listening = renderAll(planOf(setting), [input])[0]!;
    const plan = planPath(setting, 48_000, { grade: 'measuring' });
    // The same rule, so that what differs is where the solver stops.
    expect(plan.stages.map(({ wired: { program } }) => program.kind === 'circuit' && program.circuit.rule)).toEqual(['T1']);
    const apart = largestDifference(listening, renderAll(plan, [input])[0]!);
    expect(apart).toBeGreaterThan(0);
    // −150 dB of full scale: the neglected part of the last step at 1e-4 of a junction's scale.
    expect(toDb(apart) <= -150).toBe(true);
  });

  it('follows its circuits by the rules of the grade, which is part of what a program is', () => {
    const setting = pathOf(['single-ended-bipolar', 'harmonic-shaping']);
    const known = new Map<string, PlannedProgram>();
    const [listening, measuring] = (['listening', 'measuring'] as const).map((grade) => planPath(setting, 48_000, { grade, known }));
    const choice = (plan: PathPlan | undefined) => {
      const program = plan!.stages[0]!.wired.program;
      return program.kind === 'circuit' ? program.circuit.ruleChoice : null;
    };
    expect([choice(listening)?.grade, choice(listening)?.limitDb]).toEqual(['listening', 0.05]);
    expect(choice(measuring)?.grade).toBe('measuring');
    // Of whichever level comes nearer to its own: nominal or clipping.
    expect([0.005, 0.01]).toContain(choice(measuring)?.limitDb);
    expect(planPath(setting, 48_000, { known }).stages[0]!.wired).toBe(listening!.stages[0]!.wired);
    expect(planPath(setting, 48_000, { known, grade: 'measuring' }).stages[0]!.wired).toBe(measuring!.stages[0]!.wired);
  });

  it('moves from one grade to another as from one structure to another', () => {
    const setting = pathOf(['single-ended-bipolar', 'harmonic-shaping']);
    const [listening, measuring] = (['listening', 'measuring'] as const).map((grade) => planPath(setting, 48_000, { grade })) as [PathPlan, PathPlan];
    const input = sine(1000, nominalPeak, 12_000);
    const runner = new PathRunner(listening, 1, 128);
    const output = run(runner, input, 128, (frame) => { if (frame === 2560) runner.swap(measuring, 1); });
    const direct = run(new PathRunner(measuring, 1, 128), input, 128);
    expect(runner.plan).toBe(measuring);
    // −120 dB of the tone: settled, the two rules are 130 dB apart at 1 kHz, and nothing jumps. (The first milliseconds of a tone that sets in are no tone: −91 dB.)
    const left = largestDifference(output, direct, 2500) / nominalPeak;
    expect(left <= 1e-6, `${toDb(left)} dB`).toBe(true);
  });
});
