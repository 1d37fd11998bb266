// A circuit playing under each integration rule: how near it comes, what its blocks, channels and back ends may not change, and what a change of program may not do to the sound.
import { describe, expect, it } from 'vitest';
import { heapGrowth } from '../support/heap-growth.ts';
import { buildProgram, buildProgramFamily, CircuitRunner, measuringTolerance, runnerBytes, withRule } from '../../dsp/circuit/index.ts';
import type { CircuitDocument, CircuitProgram, InstanceHome, IntegrationRule } from '../../dsp/circuit/index.ts';
import { KernelInstance } from '../../dsp/circuit/emit/kernel-instance.ts';
import { SeededRandom } from '../../dsp/math/index.ts';
import { capacitor, input, parsedOf, resistor } from '../support/circuits.ts';
import { codeMemory, compiled, firstDifference } from '../support/compiled-code.ts';
import { DirectSolution } from '../support/direct-solution.ts';
import { commonEmitter, expectWithin, idealTailPair, largestDifference, opAmpLoop, pushPull, rateHz } from './support.ts';

const rules: readonly IntegrationRule[] = ['T1', 'T12', 'T24'];
const seed = 20261125;

const lowPass = parsedOf([input('in'), resistor('R1', 'in', 'out', 1000), capacitor('C1', 'out', 'ground', 10e-9)], ['out', 'ground']);
/** Time constants that fit a short test. */
const smallCapacitors = commonEmitter({ bypassFarads: 1e-6, inputFarads: 1e-7, outputFarads: 1e-7 });

/** A 5 kHz tone that swells in from rest, so that neither solution sees a corner at the start. */
const swelling = (peakVolts: number) => (t: number): number => peakVolts * Math.sin(2 * Math.PI * 5000 * t) * (t < 1e-3 ? Math.sin((Math.PI * t) / 2e-3) ** 2 : 1);

describe.each([['low-pass', lowPass, 1], ['common emitter', smallCapacitors, 0.25]] as const)('%s against the direct solution', (_, document, peakVolts) => {
  const base = 96_000;
  const frames = 192;
  const signal = swelling(peakVolts);
  const [half, whole] = [32, 64].map((substeps) => new DirectSolution(document, { rate: base, substeps, smallestMove: 1e-9 }).rest().run(frames, signal));
  // Its own error goes with the square of its step: 1e-6 V at 1/64, far less extrapolated.
  const exact = whole!.map((volts, k) => (4 * volts - half![k]!) / 3);
  const errorVolts = (rule: IntegrationRule, factor: number): number => {
    const rate = base * factor;
    const wave = Float64Array.from({ length: frames * factor }, (_entry, k) => signal((k + 1) / rate));
    new CircuitRunner(buildProgram(document, { rateHz: rate, rule }), 1, measuringTolerance).process([wave], 0, wave.length);
    return largestDifference(exact, exact.map((_volts, k) => wave[(k + 1) * factor - 1]!));
  };

  it.each([
    // dB per octave of rate: h² of the trapezoidal rule; h⁴ of the cubic and of what the combination leaves.
    ['T1', 12.04, 0.5], ['T12', 24.08, 1], ['T24', 24.08, 1.5],
  ] as const)('%s gets nearer by %d dB per octave of rate', (rule, perOctave, within) => {
    const [slow, fast] = [errorVolts(rule, 1), errorVolts(rule, 4)];
    expectWithin(20 * Math.log10(slow / fast) / 2, perOctave, within);
  });

  it('combined runs are 40 dB nearer than one at 384 kHz', () => {
    // Measured: 42 and 43 dB. That T24 gains nothing over T12 on a pure tone is the cubic's share: both have the same inputs half a sample back.
    const plain = errorVolts('T1', 4);
    for (const rule of ['T12', 'T24'] as const) expect(20 * Math.log10(plain / errorVolts(rule, 4)), rule).toBeGreaterThan(40);
  });
});

const circuits: readonly (readonly [string, CircuitDocument, number])[] = [
  ['common emitter', commonEmitter(), 3], ['push-pull', pushPull(), 10], ['op-amp loop', opAmpLoop(), 8], ['pair on an ideal tail', idealTailPair(), 0.5],
];

/** Tones and noise that reach the rescue, with inputs that no circuit could have. */
function stress(frames: number, peakVolts: number, from: number): Float64Array {
  const random = new SeededRandom(from);
  const wave = Float64Array.from({ length: frames }, (_, k) => peakVolts * (Math.sin(k / 9) + (random.nextUnit() - 0.5)));
  wave.set([NaN, Infinity, 1e200], Math.floor(frames / 3));
  return wave;
}

function home(program: CircuitProgram, channels: number, frames: number): InstanceHome {
  const memory = codeMemory(runnerBytes(program, channels) + channels * 8 * (frames + 2) + 65_536);
  return { memory, arena: memory.arena };
}

describe.each(circuits)('%s', (_, document, peakVolts) => {
  const family = buildProgramFamily(document, { rateHz });
  const frames = 700;
  const [left, right] = [stress(frames, peakVolts, seed), stress(frames, -peakVolts / 3, seed + 1)] as const;

  describe.each(rules)('%s', (rule) => {
    const program = withRule(family, rule);
    const whole = [left.slice(), right.slice()];
    const runner = new CircuitRunner(program, 2);
    runner.process(whole, 0, frames);

    it('gives the same bits however the blocks are cut', () => {
      const cut = [left.slice(), right.slice()];
      const other = new CircuitRunner(program, 2);
      const random = new SeededRandom(seed);
      for (let at = 0; at < frames;) {
        const now = Math.min(frames - at, Math.floor(random.nextUnit() ** 3 * 300));
        other.process(cut, at, now);
        at += now;
      }
      for (const channel of [0, 1]) expect(firstDifference(cut[channel]!, whole[channel]!)).toBe(-1);
      expect(other.report).toEqual(runner.report);
    });

    it('keeps its channels apart', () => {
      const [l, r] = [left.slice(), right.slice()];
      new CircuitRunner(program, 1).process([r], 0, frames);
      expect(firstDifference(r, whole[1]!)).toBe(-1);
      new CircuitRunner(program, 1).process([l], 0, frames);
      expect(firstDifference(l, whole[0]!)).toBe(-1);
    });

    it('is as new after a reset', () => {
      const used = new CircuitRunner(program, 2);
      used.process([right.slice(), left.slice()], 0, frames);
      used.reset();
      const again = [left.slice(), right.slice()];
      used.process(again, 0, frames);
      for (const channel of [0, 1]) expect(firstDifference(again[channel]!, whole[channel]!)).toBe(-1);
      expect(used.report).toEqual(runner.report);
    });

    it.each([1, 2])('gives the same bits compiled, %d channels, wherever the samples are', (channels) => {
      const place = home(program, channels, frames);
      const before = place.arena.freeBytes;
      const inside = compiled(() => new CircuitRunner(program, channels, undefined, place));
      const { instances } = inside as unknown as { instances: unknown[] };
      for (const instance of instances) expect(instance).toBeInstanceOf(KernelInstance);
      expect(before - place.arena.freeBytes).toBeLessThanOrEqual(runnerBytes(program, channels));
      const arrays = [left, right].slice(0, channels).map((wave) => {
        const array = place.arena.floats(frames);
        array.set(wave);
        return array;
      });
      inside.process(arrays, 0, 333);
      inside.process(arrays, 333, frames - 333);
      const outside = compiled(() => new CircuitRunner(program, channels, undefined, home(program, channels, frames)));
      const foreign = [left.slice(), right.slice()].slice(0, channels);
      outside.process(foreign, 0, frames);
      for (let channel = 0; channel < channels; channel += 1) {
        expect(firstDifference(arrays[channel]!, whole[channel]!)).toBe(-1);
        expect(firstDifference(foreign[channel]!, whole[channel]!)).toBe(-1);
        for (const count of Object.keys(runner.report) as (keyof typeof runner.report)[]) expect(inside.report[count][channel], count).toBe(runner.report[count][channel]);
      }
    });

    it('counts its own samples, and an impossible input once', () => {
      expect(Array.from(runner.report.samples)).toEqual([frames, frames]);
      expect(Array.from(runner.report.nonFinite)).toEqual([3, 3]);
      expect(runner.report.evaluations[0]).toBeGreaterThan(frames / 2);
      expect(runner.report.maximumEvaluations[0]).toBeGreaterThan(2);
      expect(Array.from(runner.report.capHits)).toEqual([0, 0]);
    });

    it('bounds what any one sample took', () => {
      const watched = new CircuitRunner(program, 1);
      const { evaluations, maximumEvaluations } = watched.report;
      let most = 0;
      for (let k = 0, before = 0; k < frames; k += 1) {
        watched.process([left.slice(k, k + 1)], 0, 1);
        // The first sample has the half step that starts it besides.
        if (k > 0) most = Math.max(most, evaluations[0]! - before);
        before = evaluations[0]!;
      }
      expect(most).toBeGreaterThan(2);
      expect(most).toBeLessThanOrEqual(maximumEvaluations[0]!);
    });

    it('holds its rest output within 1 nV', () => {
      const silence = new Float64Array(1000);
      new CircuitRunner(program, 1).process([silence], 0, silence.length);
      for (const volts of silence) expectWithin(volts, program.restOutputVolts, 1e-9);
    });
  });
});

describe('from one rule to another in mid-signal', () => {
  const family = buildProgramFamily({ ...commonEmitter(), output: ['c', 'ground'] }, { rateHz });
  const signal = (k: number): number => 0.2 * Math.sin((2 * Math.PI * k) / 384);
  const wave = (from: number, to: number): Float64Array => Float64Array.from({ length: to - from }, (_, k) => signal(from + k));
  const pairs = rules.flatMap((from) => rules.map((to) => [from, to] as const));

  it.each(pairs)('%s → %s jumps by less than 0.0005 % of the peak', (from, to) => {
    for (const swapAt of [1000, 1050, 1111, 1200]) {
      const undisturbed = wave(0, swapAt + 500);
      new CircuitRunner(withRule(family, to), 1, measuringTolerance).process([undisturbed], 0, undisturbed.length);
      const first = new CircuitRunner(withRule(family, from), 1, measuringTolerance);
      first.process([wave(0, swapAt)], 0, swapAt);
      const second = new CircuitRunner(withRule(family, to), 1, measuringTolerance);
      second.adopt(first);
      const after = wave(swapAt, swapAt + 500);
      second.process([after], 0, 500);
      const peak = Math.max(...undisturbed.map(Math.abs));
      expect(largestDifference(after, undisturbed.subarray(swapAt)) / peak).toBeLessThan(5e-6);
    }
  });

  it.each(['T12', 'T24'] as const)('%s again: each run goes on from its own predecessor, so that the difference dies away', (rule) => {
    const coupled = withRule(buildProgramFamily(commonEmitter(), { rateHz }), rule);
    const undisturbed = wave(0, 1800);
    new CircuitRunner(coupled, 1, measuringTolerance).process([undisturbed], 0, 1800);
    const first = new CircuitRunner(coupled, 1, measuringTolerance);
    first.process([wave(0, 1000)], 0, 1000);
    const second = new CircuitRunner(coupled, 1, measuringTolerance);
    second.adopt(first);
    const after = wave(1000, 1800);
    second.process([after], 0, 800);
    // Measured −199 dB (T12) and −218 dB (T24) after 200 samples; −161 and −173 dB where all start from the finest run, whose error is a quarter of the other's: what large
    // capacitors took over they keep.
    const peak = Math.max(...undisturbed.map(Math.abs));
    expect(largestDifference(after.subarray(200), undisturbed.subarray(1200)) / peak).toBeLessThan(1e-9);
  });

  it.each(pairs)('%s → %s gives the same bits from loop to kernel, from kernel to loop, and from kernel to kernel', (from, to) => {
    const [old, next] = [withRule(family, from), withRule(family, to)];
    const results = [[false, false], [false, true], [true, false], [true, true]].map(([wasCompiled, isCompiled]) => {
      const make = (program: CircuitProgram, inCode: boolean): CircuitRunner =>
        (inCode ? compiled(() => new CircuitRunner(program, 2, undefined, home(program, 2, 1000))) : new CircuitRunner(program, 2));
      const first = make(old, wasCompiled!);
      first.process([wave(0, 700), wave(300, 1000)], 0, 700);
      const second = make(next, isCompiled!);
      second.adopt(first);
      const after = [wave(700, 1000), wave(1000, 1300)];
      second.process(after, 0, 300);
      return after;
    });
    expect(results[0]![0]).not.toEqual(results[0]![1]);
    for (const result of results) result.forEach((channel, k) => expect(firstDifference(channel, results[0]![k]!)).toBe(-1));
  });

  it('the inputs before go over too: the first sub-inputs lie on the signal, not on a way up from silence', () => {
    // Through a resistor alone the output is the input, at the sub-steps as well; 220 pF behind 10 Ω shows them, as it follows within a step.
    const document = parsedOf([input('in'), resistor('R1', 'in', 'out', 10), capacitor('C1', 'out', 'ground', 220e-12)], ['out', 'ground']);
    const program = buildProgram(document, { rateHz, rule: 'T24' });
    const first = new CircuitRunner(program, 1);
    first.process([new Float64Array(10).fill(3)], 0, 10);
    const second = new CircuitRunner(program, 1);
    second.adopt(first);
    const after = new Float64Array(20).fill(3);
    second.process([after], 0, 20);
    for (const volts of after) expectWithin(volts, 3, 1e-9);
  });
});

it('220 pF behind 10 Ω is flagged for every rule, and rings under none', () => {
  const document = parsedOf([input('in'), resistor('R1', 'in', 'out', 10), capacitor('C1', 'out', 'ground', 220e-12)], ['out', 'ground']);
  for (const rule of rules) {
    const program = buildProgram(document, { rateHz, rule });
    expect(Array.from(program.stateBackwardEuler), rule).toEqual([1]);
    const wave = Float64Array.from({ length: 64 }, (_, k) => (k < 8 ? 0 : 1));
    new CircuitRunner(program, 1).process([wave], 0, wave.length);
    // −120 dB of the step from its fifth sample on.
    for (const volts of wave.subarray(13)) expectWithin(volts, 1, 1e-6, rule);
  }
});

it.each([['loops', false], ['kernel', true]] as const)('allocates nothing while T24 runs: %s', async (_, isCompiled) => {
  const program = buildProgram(commonEmitter(), { rateHz, rule: 'T24' });
  const place = home(program, 2, 128);
  const runner = isCompiled ? compiled(() => new CircuitRunner(program, 2, undefined, place)) : new CircuitRunner(program, 2);
  const arrays = [place.arena.floats(128), place.arena.floats(128)];
  const tone = Float64Array.from({ length: 128 }, (_entry, k) => 0.3 * Math.sin((2 * Math.PI * k) / 64));
  const block = () => {
    for (const array of arrays) array.set(tone);
    runner.process(arrays, 0, 128);
  };
  // One boxed number a sample would be 200 · 128 · 12 bytes.
  const enough = 100_000;
  expect(await heapGrowth(block, { warmUp: 200, blocks: 200, enough }), 'bytes in 200 blocks').toBeLessThan(enough);
});
