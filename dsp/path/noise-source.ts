import { exp, log } from '../math/index.ts';
import type { NoiseShape } from './noise-shape.ts';
import { tailStart, ziggurat } from './noise-ziggurat.ts';

/** Numbers of a section: b0, b1, b2, a1, a2. */
const sectionSize = 5;
const mostSections = 3;

/**
 * Noise of one stage on one channel: normally distributed numbers (xoshiro128**, D. Blackman, S. Vigna 2021; ziggurat) through second-order sections. What it adds is a function of its seeds and of how
 * many samples it has given since reset, whatever the blocks.
 *
 * It is made at the base rate and added at the internal one to one sample in `stride`: there its spectrum repeats, and what lies beyond half of the base rate the ladder takes away. At the
 * internal rate itself it would cost `stride` times as much and sound the same. All methods but the constructor are for the audio thread: they allocate nothing and never throw.
 */
export class NoiseSource {
  readonly #seeds: Uint32Array;
  readonly #state: Uint32Array;
  /** Two numbers a section. */
  readonly #memory = new Float64Array(2 * mostSections);
  /** One number that did not come at once; an array, since a number handed back by a call may be allocated. */
  readonly #late = new Float64Array(1);

  /** `seed`: the setting's; `place`: of the stage in the path; each channel has its own stream. */
  constructor(seed: number, place: number, channel: number) {
    this.#seeds = new Uint32Array(4);
    this.#state = new Uint32Array(4);
    this.reseed(seed, place, channel);
  }

  /** Another stream from its beginning. */
  reseed(seed: number, place: number, channel: number): void {
    fillSeeds(this.#seeds, seed, place, channel);
    this.reset();
  }

  reset(): void {
    this.#state.set(this.#seeds);
    this.#memory.fill(0);
  }

  /** Goes on where another one stands. */
  adopt(before: NoiseSource): void {
    this.#state.set(before.#state);
    this.#memory.set(before.#memory);
  }

  /** Adds noise in volts to every `stride`-th of the first `frames · stride` samples of `into`, `stride` times as strong, so that its density holds below half of the slower rate. */
  add(shape: NoiseShape, into: Float64Array, frames: number, stride: number): void {
    const { sections, sectionCount } = shape;
    const gain = shape.gain * stride;
    const { sure, width } = ziggurat;
    const state = this.#state;
    const memory = this.#memory;
    const late = this.#late;
    let s0 = state[0]! | 0;
    let s1 = state[1]! | 0;
    let s2 = state[2]! | 0;
    let s3 = state[3]! | 0;
    let at = 0;
    for (let i = 0; i < frames; i += 1) {
      const times5 = Math.imul(s1, 5);
      const drawn = Math.imul((times5 << 7) | (times5 >>> 25), 9);
      const shifted = s1 << 9;
      s2 ^= s0;
      s3 ^= s1;
      s1 ^= s2;
      s0 ^= s3;
      s2 ^= shifted;
      s3 = (s3 << 11) | (s3 >>> 21);
      const layer = drawn & 127;
      const value = drawn >> 7;
      let x = value * width[layer]!;
      if (!((value < 0 ? -value : value) < sure[layer]!)) {
        state[0] = s0;
        state[1] = s1;
        state[2] = s2;
        state[3] = s3;
        this.#settle(layer, value);
        x = late[0]!;
        s0 = state[0]! | 0;
        s1 = state[1]! | 0;
        s2 = state[2]! | 0;
        s3 = state[3]! | 0;
      }
      let y = gain * x;
      for (let k = 0; k < sectionCount; k += 1) {
        const first = sectionSize * k;
        const passed = sections[first]! * y + memory[2 * k]!;
        memory[2 * k] = sections[first + 1]! * y - sections[first + 3]! * passed + memory[2 * k + 1]!;
        memory[2 * k + 1] = sections[first + 2]! * y - sections[first + 4]! * passed;
        y = passed;
      }
      into[at] = into[at]! + y;
      at += stride;
    }
    state[0] = s0;
    state[1] = s1;
    state[2] = s2;
    state[3] = s3;
  }

  /** A draw that is not surely under the curve, into `#late`: the tail, the curve's edge, or another draw. One in eighty comes here. */
  #settle(firstLayer: number, firstValue: number): void {
    const { sure, width, height } = ziggurat;
    let layer = firstLayer;
    let value = firstValue;
    for (;;) {
      const x = value * width[layer]!;
      if ((value < 0 ? -value : value) < sure[layer]!) {
        this.#late[0] = x;
        return;
      }
      if (layer === 0) {
        let beyond = 0;
        let under = 0;
        do {
          beyond = -log(this.#unit()) / tailStart;
          under = -log(this.#unit());
        } while (under + under < beyond * beyond);
        this.#late[0] = value < 0 ? -tailStart - beyond : tailStart + beyond;
        return;
      }
      if (height[layer]! + this.#unit() * (height[layer - 1]! - height[layer]!) < exp(-0.5 * x * x)) {
        this.#late[0] = x;
        return;
      }
      const drawn = this.#draw();
      layer = drawn & 127;
      value = drawn >> 7;
    }
  }

  /** Uniform over (0, 1). */
  #unit(): number {
    return ((this.#draw() >>> 0) + 0.5) / 4294967296;
  }

  #draw(): number {
    const s = this.#state;
    const times5 = Math.imul(s[1]!, 5);
    const result = Math.imul((times5 << 7) | (times5 >>> 25), 9);
    const shifted = s[1]! << 9;
    s[2] = s[2]! ^ s[0]!;
    s[3] = s[3]! ^ s[1]!;
    s[1] = s[1]! ^ s[2]!;
    s[0] = s[0]! ^ s[3]!;
    s[2] = s[2]! ^ shifted;
    const last = s[3]!;
    s[3] = (last << 11) | (last >>> 21);
    return result;
  }
}

/** Four words from three whole numbers, mixed as `SeededRandom` mixes its seed; each number passes the mixer before the next joins, so that near ones give streams that have nothing to do with one another. */
function fillSeeds(seeds: Uint32Array, seed: number, place: number, channel: number): void {
  let counter = mixed(Math.round(seed) + 0x9e3779b9);
  counter = mixed((counter ^ place) + 0x9e3779b9);
  counter = mixed((counter ^ channel) + 0x9e3779b9);
  for (let k = 0; k < 4; k += 1) {
    counter = (counter + 0x9e3779b9) | 0;
    seeds[k] = mixed(counter);
  }
}

function mixed(word: number): number {
  let hash = word >>> 0;
  hash = Math.imul(hash ^ (hash >>> 16), 0x85ebca6b);
  hash = Math.imul(hash ^ (hash >>> 13), 0xc2b2ae35);
  return (hash ^ (hash >>> 16)) >>> 0;
}
