/** What a path adds to a loop: nothing where it is linear, the closed form where its law is known, and where in time. */
import { beforeAll, afterAll, describe, expect, it } from 'vitest';
import { buildProgram, discreteResponse, type CircuitProgram } from '../../../dsp/circuit/index.ts';
import { addedByPath, growingStage, type LinearPart } from '../../../dsp/measure/loop/index.ts';
import { delayed, fitGainAndDelay, fitMovingGain, gainAt } from '../../../dsp/measure/loop/linear-fit.ts';
import { smallSignalRound } from '../../../dsp/measure/loop/small-signal-round.ts';
import { planPath, type PathPlan } from '../../../dsp/path/index.ts';
import { dbuToPeakVolts } from '../../../dsp/stages/index.ts';
import { installWebAssembly } from '../../../dsp/webassembly/index.ts';
import { firstDifference, pathOf, plucked, rateHz, toDb, type StageWish } from '../../path/support.ts';
import { engineShell } from '../../support/compiled-code.ts';
import { latchingPair } from '../../support/unstable.ts';

beforeAll(() => installWebAssembly(engineShell));
afterAll(() => installWebAssembly(null));

const planOf = (wishes: readonly (string | StageWish)[], oversamplingFactor: 1 | 2 | 8 = 8): PathPlan => planPath(pathOf(wishes, { oversamplingFactor }), rateHz, { grade: 'measuring' });
const meanSquare = (samples: ArrayLike<number>): number => Array.from(samples).reduce((sum, sample) => sum + sample * sample, 0) / samples.length;
const added = (plan: PathPlan, loop: readonly Float64Array[], linearPart: LinearPart) => addedByPath(plan, loop, { linearPart, momentSeconds: 0.03 });
const run = <Result>(steps: Generator<unknown, Result>): Result => {
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
};

/** Two tones of this peak each, full scale 1. */
function twoTones(frames: number, peak: number, hertz: readonly [number, number] = [500, 700]): Float64Array {
  return Float64Array.from({ length: frames }, (_, i) => peak * hertz.reduce((sum, hz) => sum + Math.cos((2 * Math.PI * hz * i) / rateHz), 0));
}

describe('a linear path adds nothing', () => {
  const steep: StageWish = { stage: 'equaliser' };
  // What rounding leaves: 1e-16 of a sample, −310 dB, with 60 dB of room. Circuits with op-amps bend a little of themselves (−156 dB).
  it.each<[string, readonly (string | StageWish)[], number]>([
    ['an equaliser', [steep], -250], ['a line', ['line'], -250], ['both', [steep, 'line'], -250], ['an equaliser of circuits', ['equaliser-inductor'], -140],
  ])('%s: under its limit in each way', (_, wishes, limitDb) => {
    const loop = plucked(12_000);
    const { left, out } = added(planOf(wishes), [loop], 'moment');
    for (const way of ['moment', 'region', 'small-signal'] as const) {
      const db = toDb(Math.sqrt(left[way] / out[0]!.length / meanSquare(out[0]!)));
      if (!(db <= limitDb)) throw new Error(`${way}: ${db} dB, limit ${limitDb} dB`);
    }
  });
});

describe('a known law', () => {
  // Peak of each tone, and the law's own amounts: y = x + A0 (2 h2 a² + 4 h3 a³), a = x/A0.
  const peak = 0.05;
  const [second, third] = [0.01, 0.003];
  const values = { secondSign: 'positive', secondDb: toDb(second), thirdSign: 'negative', thirdDb: toDb(third), bandLimitHz: 40e3, referenceDbu: 4 };
  const plan = planOf([{ stage: 'harmonic-shaping', values }]);
  const reference = dbuToPeakVolts(4) / dbuToPeakVolts(24);
  const a = peak / reference;
  // Amounts are asked for relative to the fundamental they come with.
  const h3 = -third / (1 + 3 * third);
  const h2 = second * (1 + 3 * h3);
  // Powers of the squares' and the cubes' products of two equal tones: 2f, sum and difference; 3f and 2f ± f; and the tones themselves (9/4 each).
  const squares = (2 * h2 * reference * a * a) ** 2 * (1 / 8 + 1 / 8 + 1 / 2 + 1 / 2);
  const cubes = (4 * h3 * reference * a ** 3) ** 2;
  const products = squares + cubes * (2 * (1 / 16) + 4 * (9 / 16)) / 2;
  const onTones = cubes * (2 * (81 / 16)) / 2;
  const loop = twoTones(28_800, peak);

  it.each<[LinearPart, number]>([['region', products], ['moment', products], ['small-signal', products + onTones]])('%s: the energy added to two tones is the closed form', (way, expected) => {
    const found = added(plan, [loop], way);
    const db = 10 * Math.log10(meanSquare(found.channels[0]!) / expected);
    // 0.02 dB: the high-pass that keeps direct current out of the branch takes 0.01 dB of the difference tone.
    if (!(Math.abs(db) <= 0.02)) throw new Error(`${way}: ${db} dB off`);
    if (way === 'small-signal') expect(found.gain).toBe(1);
    // 3e-6: the branch's band limit turns the cube's part on the tones by 1°.
    else expect(Math.abs(found.gain - (1 + 4 * h3 * a * a * (9 / 4)))).toBeLessThan(3e-6);
  });

  it('is the same twice to the bit, and in each of two channels what it is alone', () => {
    const other = plucked(28_800, 0.2);
    const both = added(plan, [loop, other], 'small-signal').channels;
    expect(firstDifference(both[0]!, added(plan, [loop], 'small-signal').channels[0]!)).toBe(-1);
    expect(firstDifference(both[1]!, added(plan, [other], 'small-signal').channels[0]!)).toBe(-1);
  });
});

describe('the linear part of a circuit', () => {
  it('is the response of its program at rest, the loop going round', () => {
    const plan = planOf(['single-ended-bipolar'], 1);
    const circuit = plan.stages[0]!.wired.program as { readonly circuit: CircuitProgram; readonly inputGain: number; readonly outputGain: number };
    const [hz, frames] = [1250, 9600];
    const tone = Float64Array.from({ length: frames }, (_, i) => 0.2 * Math.cos((2 * Math.PI * hz * i) / rateHz));
    const [linear] = run(smallSignalRound(plan, [tone]));
    const { re, im } = discreteResponse(circuit.circuit, [hz])[0]!;
    const gain = circuit.inputGain * circuit.outputGain;
    const expected = tone.map((_, i) => 0.2 * gain * (re * Math.cos((2 * Math.PI * hz * i) / rateHz) - im * Math.sin((2 * Math.PI * hz * i) / rateHz)));
    const db = toDb(Math.sqrt(meanSquare(linear!.map((sample, i) => sample - expected[i]!)) / meanSquare(expected)));
    // −130 dB: rounding of 24 V beside 350 µV, and third order 160 dB down.
    if (!(db <= -130)) throw new Error(`${db} dB`);
  });

  it('leaves to the moments what is merely louder or softer', () => {
    const frames = 48_000;
    const loop = plucked(frames, 0.3);
    const swung = loop.map((sample, i) => (1 + 0.1 * Math.cos((2 * Math.PI * 2 * i) / frames)) * sample);
    const knots = run(fitMovingGain(loop, swung, 100));
    const left = swung.map((sample, i) => sample - gainAt(knots, i, frames) * loop[i]!);
    // Straight lines between knots 10 ms apart miss a cosine of 1 s period by (2 π 2/100)²/8 of a tenth: −74 dB.
    const db = toDb(Math.sqrt(meanSquare(left) / meanSquare(swung)));
    if (!(db <= -74)) throw new Error(`${db} dB`);
    expect(Math.max(...knots)).toBeCloseTo(1.1, 3);
  });

  it('has the gain and delay that were put there, and keeps 1 where there is silence', () => {
    const loop = plucked(4800, 0.3).map((sample, i, all) => (sample + all[(i + 1) % 4800]! * 2 + all[(i + 2) % 4800]!) / 4);
    const later = run(delayed(loop, 0.01)).map((sample) => -0.8 * sample);
    const { gain, delaySamples } = run(fitGainAndDelay([loop], [later]));
    expect(gain).toBeCloseTo(-0.8, 10);
    expect(delaySamples).toBeCloseTo(0.01, 8);
    const half = Float64Array.from({ length: 4800 }, (_, i) => (i < 2400 ? Math.sin(i / 3) : 0));
    const knots = run(fitMovingGain(half, half.map((sample) => 1.5 * sample), 48));
    expect(knots[12]).toBeCloseTo(1.5, 6);
    expect(knots[36]).toBe(1);
    expect([...run(fitMovingGain(half, half.map((sample) => 0.5 * sample), 2))].every((knot) => Math.abs(knot - 0.5) < 1e-6)).toBe(true);
    expect(() => run(fitMovingGain(half, half, 0))).toThrow('expected at least one knot, got 0');
  });
});

describe('what is no music', () => {
  const plan = planOf(['harmonic-shaping'], 1);
  it.each<[string, Float64Array, string]>([
    ['silence', new Float64Array(4800), 'got silence or a direct voltage alone'],
    ['direct voltage', new Float64Array(4800).fill(0.25), 'got silence or a direct voltage alone'],
    ['a sample that is none', plucked(4800).fill(NaN, 7, 8), 'got a sample that is none'],
    ['nothing', new Float64Array(0), 'got no samples'],
  ])('%s is refused', (_, loop, words) => {
    expect(() => added(plan, [loop], 'moment')).toThrow(words);
  });

  it('names what does not stay at rest', () => {
    expect(growingStage(plan)).toBeNull();
    const latch = buildProgram(latchingPair(1e-9), { rateHz: 48_000 });
    const stages = plan.stages.map((stage) => ({ ...stage, key: 'latch', wired: { identity: 'latch', program: { kind: 'circuit', circuit: latch, inputGain: 1, outputGain: 1 } as const } }));
    expect(growingStage({ ...plan, stages })?.key).toBe('latch');
    expect(() => added({ ...plan, stages }, [plucked(4800)], 'moment')).toThrow('latch: expected a circuit that stays at rest');
  });
});
