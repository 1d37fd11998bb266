/** The shaping stage running: x plus a branch of band limit, law and DC blocking. */
import type { PolynomialProgram, StageCounters, StageRunner } from '../contract.ts';
import { clearCounters, freshCounters } from '../shared/counters.ts';
import {
  envelopeOf, heldEven, heldOdd, polynomialEven, polynomialOdd, stepAllPass, stepBandLimit, stepBlocking,
} from './branch.ts';
import { saturate } from './law.ts';
import { at } from './program.ts';
import { sectionCount } from './quadrature.ts';

/** Places in a channel's memory: band limit 2, blocking 1, then the all-pass sections. */
const blockingAt = 2;
const sectionsAt = 3;
const memorySize = sectionsAt + sectionCount;

export class HarmonicShapingRunner implements StageRunner {
  readonly program: PolynomialProgram;
  readonly counters: StageCounters = freshCounters();
  readonly #memory: readonly Float64Array[];
  /** Branch of the sample at hand, V: a number returned from a call too large to be inlined would be allocated. */
  readonly #branch = new Float64Array(1);

  constructor(program: PolynomialProgram, channels: number) {
    this.program = program;
    this.#memory = Array.from({ length: channels }, () => new Float64Array(memorySize));
  }

  /** Audio thread. */
  reset(): void {
    for (const memory of this.#memory) memory.fill(0);
    clearCounters(this.counters);
  }

  /** Audio thread. Another kind of runner: starts from rest. */
  adopt(previous: StageRunner): void {
    if (!(previous instanceof HarmonicShapingRunner)) return;
    const count = Math.min(this.#memory.length, previous.#memory.length);
    for (let channel = 0; channel < count; channel += 1) this.#memory[channel]!.set(previous.#memory[channel]!);
  }

  /**
   * Volts in place. Audio thread: allocates nothing, never throws. A sample that is not finite gives 0 V and starts the memory afresh.
   * The band limit and the all-pass pair run even where nothing is asked for, so that a turned-up amount finds them settled.
   */
  process(channel: number, buffer: Float64Array, offset: number, frames: number): void {
    const memory = this.#memory[channel]!;
    const p = this.program.parameters;
    const held = p[at.held] === 1;
    const silent = p[at.second] === 0 && p[at.third] === 0;
    const makeUp = p[at.makeUpRatio]!;
    const branch = this.#branch;
    const counters = this.counters;
    let peak = counters.peakOutputVolts;
    for (let n = offset; n < offset + frames; n += 1) {
      const x = buffer[n]!;
      if (!(x - x === 0)) {
        memory.fill(0);
        counters.nonFinite += 1;
        buffer[n] = 0;
        continue;
      }
      const limited = stepBandLimit(memory, 0, p[at.bandLimit]!, x);
      if (held) this.#held(memory, p, limited);
      else if (!silent) this.#polynomial(memory, p, limited);
      let y = silent ? x : x + branch[0]!;
      y = y * makeUp + 0;
      if (!(y - y === 0)) {
        memory.fill(0);
        counters.nonFinite += 1;
        y = 0;
      }
      const size = Math.abs(y);
      if (size > peak) peak = size;
      buffer[n] = y;
    }
    counters.peakOutputVolts = peak;
    counters.samples += frames;
  }

  #polynomial(memory: Float64Array, p: Float64Array, limited: number): void {
    const s = saturate(limited, p[at.ceilingVolts]!, p[at.kneeVolts]!);
    this.#branch[0] = stepBlocking(memory, blockingAt, p[at.blocking]!, polynomialEven(p, s)) + polynomialOdd(p, s);
  }

  #held(memory: Float64Array, p: Float64Array, limited: number): void {
    let first = limited;
    let second = limited;
    for (let k = 0; k < sectionCount; k += 2) {
      first = stepAllPass(memory, sectionsAt + k, p[at.quadrature + k]!, first);
      second = stepAllPass(memory, sectionsAt + k + 1, p[at.quadrature + k + 1]!, second);
    }
    const envelope = envelopeOf(first, second, limited);
    this.#branch[0] = stepBlocking(memory, blockingAt, p[at.blocking]!, heldEven(p, limited, envelope)) + heldOdd(p, limited, envelope);
  }
}
