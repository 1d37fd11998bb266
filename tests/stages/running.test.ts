/** What every running stage promises, whatever is in it. */
import { describe, expect, it } from 'vitest';
import { heapGrowth } from '../support/heap-growth.ts';
import { createStageRunner, defaultValues, resolveValues, stages } from '../../dsp/stages/index.ts';
import type { StageDefinition, StageProgram, StageRunner, StageValues } from '../../dsp/stages/index.ts';
import { SeededRandom } from '../../dsp/math/index.ts';
import { noise, sine, square, sum } from './support/signals.ts';
import { rateHz } from './support/tone.ts';

function programOf(stage: StageDefinition, given: StageValues = {}): StageProgram {
  return stage.program(resolveValues(stage, given), { rateHz, source: null });
}

function throughAll(runner: StageRunner, inputs: readonly Float64Array[]): Float64Array[] {
  const buffers = inputs.map((input) => Float64Array.from(input));
  runner.process(buffers, 0, buffers[0]!.length);
  return buffers;
}

const through = (runner: StageRunner, input: Float64Array): Float64Array => throughAll(runner, [input])[0]!;

/** Index of the first pair that is not the same number to the bit, −0 told from 0; −1: none. */
function firstDifference(a: Float64Array, b: Float64Array): number {
  expect(a.length).toBe(b.length);
  return a.findIndex((x, n) => !Object.is(x, b[n]));
}

const largest = (wave: Float64Array): number => wave.reduce((peak, x) => (Math.abs(x) > peak ? Math.abs(x) : Number.isNaN(x) ? NaN : peak), 0);

/** Music-like: a tone at line level with some noise on it. */
const programme = (frames: number): Float64Array => sum(sine(frames, 440, 1.7), noise(frames, 0.2, 20261125));
/** Smooth at the internal rate, as everything behind the resampling ladder is. */
const tone = (frames: number): Float64Array => sine(frames, 440, 1.7);
const settling = rateHz / 20;

function expectNear(actual: Float64Array, expected: Float64Array, from: number, limitVolts: number): void {
  expect(actual.length).toBe(expected.length);
  for (let n = from; n < actual.length; n += 1) {
    const error = Math.abs(actual[n]! - expected[n]!);
    if (!(error <= limitVolts)) throw new Error(`frame ${n}: ${actual[n]} V, expected ${expected[n]} V, error ${error}, limit ${limitVolts}`);
  }
}

/** What the stage is given by its held law, its low current and so on: every way of running that a table offers. */
const variants = stages.flatMap((stage) => [
  { id: stage.id, stage, given: {} as StageValues },
  ...(stage.id === 'harmonic-shaping' ? [{ id: `${stage.id}, held`, stage, given: { law: 'held' } as StageValues }] : []),
  ...(stage.id === 'push-pull' ? [{ id: `${stage.id}, near class B, unequal`, stage, given: { quiescentAmperes: 1e-4, betaRatio: 0.5, driverOhms: 1000 } as StageValues }] : []),
  ...(stage.id === 'push-pull' ? [{ id: `${stage.id}, heated`, stage, given: { thermal: 'on' } as StageValues }] : []),
]);

describe.each(variants)('$id', ({ stage, given }) => {
  const program = programOf(stage, given);
  const runner = (channels = 1): StageRunner => createStageRunner(program, channels);

  it('gives the same bits in blocks of any size', () => {
    const input = programme(6000);
    const whole = through(runner(), input);
    const split = Float64Array.from(input);
    const random = new SeededRandom(20261125);
    const other = runner();
    for (let n = 0; n < split.length;) {
      const frames = Math.min(split.length - n, Math.floor(random.nextUnit() * 200));
      other.process([split], n, frames);
      n += frames;
    }
    expect(firstDifference(whole, split)).toBe(-1);
  });

  it('is as new after a reset', () => {
    const input = programme(3000);
    const used = runner();
    through(used, square(2000, 100, 30));
    used.reset();
    expect(used.counters).toEqual(runner().counters);
    expect(firstDifference(through(used, input), through(runner(), input))).toBe(-1);
  });

  it('holds its output within 1 nV on silence', () => {
    expect(largest(through(runner(), new Float64Array(rateHz / 10)))).toBeLessThanOrEqual(1e-9);
  });

  it('mutes, counts and recovers from NaN, ∞ and −∞', () => {
    const frames = rateHz / 4;
    const clean = programme(frames);
    clean.fill(0, 1000, 1003);
    const input = Float64Array.from(clean);
    input.set([NaN, Infinity, -Infinity], 1000);
    const hurt = runner();
    const output = through(hurt, input);
    expect(largest(output)).toBeLessThan(100);
    expect([...output.subarray(1000, 1003)]).toEqual([0, 0, 0]);
    expect(hurt.counters.nonFinite).toBe(3);
    // 0.1 mV: the slowest memory that starts afresh is the shaping stage's DC blocking, 80 ms, of 2 mV.
    expectNear(output, through(runner(), clean), frames - rateHz / 100, 1e-4);
  });

  it('survives inputs no circuit could have', () => {
    const hurt = runner();
    const input = programme(4000);
    input[100] = 1e60;
    input[200] = -1e90;
    input[300] = 1e300;
    const output = through(hurt, input);
    expect(Number.isFinite(largest(output))).toBe(true);
    const after = through(hurt, programme(rateHz / 4));
    expect(largest(after.subarray(rateHz / 4 - 4000)), 'volts after recovery').toBeLessThan(20);
  });

  it('keeps its channels apart: different, swapped, one of them in trouble', () => {
    const left = programme(5000);
    const right = square(5000, 1900, 120);
    const stereo = runner(2);
    const [outLeft, outRight] = throughAll(stereo, [left, right]) as [Float64Array, Float64Array];
    const [swappedRight, swappedLeft] = throughAll(runner(2), [right, left]) as [Float64Array, Float64Array];
    expect(firstDifference(swappedRight, outRight)).toBe(-1);
    expect(firstDifference(swappedLeft, outLeft)).toBe(-1);
    expect(firstDifference(through(runner(), right), outRight)).toBe(-1);
    expect(firstDifference(through(runner(), left), outLeft)).toBe(-1);
    expect(firstDifference(outLeft, outRight)).not.toBe(-1);
    expect(stereo.counters.capHits).toBe(0);
    expect(stereo.counters.samples).toBe(10_000);
  });

  it('goes on as if nothing had happened when the values stay', () => {
    const input = tone(settling + 2000);
    const uninterrupted = through(runner(), input);
    const before = runner();
    before.process([input], 0, settling);
    const next = runner();
    next.adopt(before, 'settled');
    next.process([input], settling, 2000);
    // 10 µV: the first step is taken in two halves.
    expectNear(input, uninterrupted, settling, 1e-5);
  });

  it('carries its memory across a change of every capacitor and resistor', () => {
    const input = tone(settling + 1);
    const uninterrupted = through(runner(), input);
    const before = runner();
    through(before, input.subarray(0, settling));
    for (const parameter of stage.parameters) {
      if (parameter.kind !== 'number' || (parameter.quantity !== 'capacitance' && parameter.quantity !== 'resistance')) continue;
      const capacitor = parameter.quantity === 'capacitance';
      const next = createStageRunner(programOf(stage, { ...given, [parameter.id]: parameter.default * (capacitor ? 1.5 : 1.02) }), 1);
      next.adopt(before, 'settled');
      const jump = Math.abs(through(next, input.subarray(settling))[0]! - uninterrupted[settling]!);
      // A capacitor keeps its voltage: nothing moves at once but by its own step, 0.5 %. A resistor changes the gain by at most its own 2 %, and no bias shows.
      const limit = (capacitor ? 0.005 : 0.025) * 1.7;
      if (!(jump <= limit)) throw new Error(`${parameter.id}: output jumps by ${jump} V, limit ${limit} V`);
    }
  });

  it('is not slowed by the end of a sound', () => {
    // 60 s shortened to 1 s: the fast memories (microseconds) have then had ten thousands of time constants to become denormal and slow.
    const block = 4096;
    const buffer = new Float64Array(block);
    const running = runner();
    const nanoseconds = (blocks: number, fill: (n: number) => number): number => {
      let best = Infinity;
      for (let b = 0; b < blocks; b += 1) {
        for (let n = 0; n < block; n += 1) buffer[n] = fill(b * block + n);
        const from = performance.now();
        running.process([buffer], 0, block);
        best = Math.min(best, performance.now() - from);
      }
      return best;
    };
    const burst = nanoseconds(40, (n) => 3 * Math.sin(n / 30));
    const silenceBlocks = Math.ceil(rateHz / block);
    nanoseconds(silenceBlocks, () => 0);
    const silence = nanoseconds(20, () => 0);
    // Denormal numbers cost tens of times as much; the fastest of twenty blocks is free of the machine's other work.
    expect(silence / burst).toBeLessThan(2);
    expect(largest(buffer), 'volts left after the burst').toBeLessThan(0.5);
  });

  it('allocates nothing while it runs', async () => {
    const running = runner();
    const buffer = new Float64Array(128);
    const input = programme(128);
    const block = () => {
      buffer.set(input);
      running.process([buffer], 0, 128);
    };
    // One boxed number a sample would be 51,200 · 12 bytes or more.
    const enough = 300_000;
    expect(await heapGrowth(block, { warmUp: 500, blocks: 400, enough }), 'bytes in 400 blocks').toBeLessThan(enough);
  });
});

describe.each(stages.map((stage) => ({ id: stage.id, stage })))('$id at the ends of its table', ({ stage }) => {
  const input = sum(sine(4000, 1000, 10), noise(4000, 7, 1));
  const ends = stage.parameters.flatMap((parameter): [string, number | string][] => (parameter.kind === 'number'
    ? [[parameter.id, parameter.minimum], [parameter.id, parameter.maximum]]
    : parameter.options.map((option): [string, string] => [parameter.id, option.id])));

  it.each(ends)('%s = %s neither diverges nor fails to solve', (id, value) => {
    const values = { ...defaultValues(stage), [id]: value };
    if (stage.refuse(values) !== null) {
      expect(() => resolveValues(stage, values)).toThrow(stage.id);
      return;
    }
    const program = stage.program(values, { rateHz, source: null });
    const runner = createStageRunner(program, 1);
    const output = through(runner, input);
    const makeUp = id === 'makeUpDb' ? 10 ** (Number(value) / 20) : 1;
    // No supply is above 450 V; a valve whose grid is driven a hundred volts positive (40 dB of drive) passes its rails, as the three-halves law lets it.
    expect(largest(output) / Math.max(1, makeUp)).toBeLessThan(id === 'driveDb' ? 1500 : 500);
    expect(runner.counters.nonFinite).toBe(0);
    expect(runner.counters.capHits).toBe(0);
    for (const reading of stage.report(values, program).readings) expect(Number.isFinite(reading.value), reading.label).toBe(true);
  });
});
