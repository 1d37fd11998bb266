/** The compiled ladder against the readable one: the same bits. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { SeededRandom } from '../../dsp/math/index.ts';
import { designLadder, Downsampler, Upsampler } from '../../dsp/resampling/index.ts';
import type { LadderDesign, LadderFactor, LadderKind } from '../../dsp/resampling/index.ts';
import type { CodeMemory } from '../../dsp/webassembly/index.ts';
import { codeMemory, compiled, firstDifference } from '../support/compiled-code.ts';

const kinds: LadderKind[] = ['linear-phase', 'minimum-latency'];
const factors: LadderFactor[] = [1, 2, 4, 8, 16];
const ladders = [44100, 48000, 96000].flatMap((rate) => kinds.flatMap((kind) => factors.map((factor) => [rate, kind, factor] as const)));
const longest = 700;

interface Ladder {
  readonly up: Upsampler;
  readonly down: Downsampler;
  /** Base rate in, internal rate, base rate out; a frame before and behind must stay as it is. */
  readonly low: Float64Array;
  readonly high: Float64Array;
  readonly out: Float64Array;
}

function loops(design: LadderDesign): Ladder {
  return {
    up: new Upsampler(design), down: new Downsampler(design),
    low: new Float64Array(longest), high: new Float64Array(longest * design.factor + 2), out: new Float64Array(longest + 2),
  };
}

function inCode(design: LadderDesign): { readonly ladder: Ladder; readonly memory: CodeMemory } {
  const bytes = Upsampler.bytes(design) + Downsampler.bytes(design) + 8 * (longest * (design.factor + 2) + 16);
  const memory = codeMemory(bytes);
  const { arena } = memory;
  // Exactly what the two say they need.
  const part = arena.part(Upsampler.bytes(design));
  const partDown = arena.part(Downsampler.bytes(design));
  const ladder = compiled(() => ({
    up: new Upsampler(design, { memory, arena: part }), down: new Downsampler(design, { memory, arena: partDown }),
    low: arena.floats(longest), high: arena.floats(longest * design.factor + 2), out: arena.floats(longest + 2),
  }));
  return { ladder, memory };
}

function run({ up, down, low, high, out }: Ladder, factor: number, input: Float64Array): void {
  low.set(input);
  high.fill(77);
  out.fill(77);
  up.process(low, 0, input.length, high, 1);
  down.process(high, 1, input.length, out, 1);
  expect([high[0], high[1 + input.length * factor], out[0], out[1 + input.length]]).toEqual([77, 77, 77, 77]);
}

/** Noise with bursts of 60 dB, stretches of silence in which states decay into nothing, and negative zeros. */
function piece(random: SeededRandom, frames: number): Float64Array {
  const kind = random.nextUnit();
  return Float64Array.from({ length: frames }, (_, n) => (kind < 0.3 ? (n % 2 === 0 ? 0 : -0) : kind < 0.4 ? 1000 * random.nextGaussian() : random.nextGaussian()));
}

describe.each(ladders)('%i Hz, %s, ×%i', (rate, kind, factor) => {
  it('gives the same bits compiled, in blocks of any size', () => {
    const design = designLadder(rate, factor, kind);
    const sizes = fc.array(fc.oneof(fc.integer({ min: 1, max: 9 }), fc.integer({ min: 1, max: longest })), { minLength: 4, maxLength: 16 });
    fc.assert(fc.property(sizes, fc.integer({ min: 1, max: 1e6 }), (lengths, seed) => {
      const random = new SeededRandom(seed);
      const readable = loops(design);
      const { ladder, memory } = inCode(design);
      const { byteLength } = memory.arena.buffer;
      for (const [turn, length] of lengths.entries()) {
        if (turn === 3) for (const each of [readable, ladder]) { each.up.reset(); each.down.reset(); }
        const input = piece(random, length);
        run(readable, factor, input);
        run(ladder, factor, input);
        const high = firstDifference(ladder.high, readable.high);
        const low = firstDifference(ladder.out, readable.out);
        expect([high, low], `block ${turn} of ${length} frames`).toEqual([-1, -1]);
      }
      expect(memory.arena.buffer.byteLength).toBe(byteLength);
    }), { seed: 20261125, numRuns: 6 });
  });

  it('decays to true zeros compiled', () => {
    const design = designLadder(rate, factor, kind);
    const { ladder } = inCode(design);
    const random = new SeededRandom(9);
    run(ladder, factor, Float64Array.from({ length: 400 }, () => random.nextGaussian()));
    for (let k = 0; k < 8; k += 1) run(ladder, factor, new Float64Array(500).fill(-0));
    expect(ladder.out.subarray(1, 501).every((value) => Object.is(value, 0))).toBe(true);
  });
});

describe('a home without code', () => {
  it('runs the loops on arrays of the memory', () => {
    const design = designLadder(48000, 4, 'minimum-latency');
    const memory = codeMemory(1 << 20);
    const without = { code: () => null, arena: memory.arena } as unknown as CodeMemory;
    const up = new Upsampler(design, { memory: without, arena: memory.arena });
    const random = new SeededRandom(5);
    const input = Float64Array.from({ length: 300 }, () => random.nextGaussian());
    const [a, b] = [new Float64Array(1200), new Float64Array(1200)];
    up.process(input, 0, 300, a, 0);
    new Upsampler(design).process(input, 0, 300, b, 0);
    expect(firstDifference(a, b)).toBe(-1);
  });
});
