/** The shaping stage running: x plus a branch of band limit, law and DC blocking. */
import type { PolynomialProgram, StageCounters, StageRunner } from '../contract.ts';
import { clearCounters, freshCounters } from '../shared/counters.ts';
import { heldParts, polynomialParts, scratchAt, scratchSize, stepAllPass, stepBandLimit, stepBlocking } from './branch.ts';
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
  readonly #scratch = new Float64Array(scratchSize);

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
  process(channels: readonly Float64Array[], offset: number, frames: number): void {
    for (let channel = 0; channel < channels.length; channel += 1) this.#one(channel, channels[channel]!, offset, frames);
  }

  #one(channel: number, buffer: Float64Array, offset: number, frames: number): void {
    const memory = this.#memory[channel]!;
    const p = this.program.parameters;
    const held = p[at.held] === 1;
    const silent = p[at.second] === 0 && p[at.third] === 0;
    const makeUp = p[at.makeUpRatio]!;
    const scratch = this.#scratch;
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
      scratch[scratchAt.limited] = stepBandLimit(memory, 0, p[at.bandLimit]!, x);
      if (held) this.#quadrature(memory);
      let y = x;
      if (!silent) {
        if (held) heldParts(p, scratch);
        else polynomialParts(p, scratch);
        y = x + (stepBlocking(memory, blockingAt, p[at.blocking]!, scratch[scratchAt.even]!) + scratch[scratchAt.odd]!);
      }
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

  #quadrature(memory: Float64Array): void {
    const p = this.program.parameters;
    const scratch = this.#scratch;
    let first = scratch[scratchAt.limited]!;
    let second = first;
    for (let k = 0; k < sectionCount; k += 2) {
      first = stepAllPass(memory, sectionsAt + k, p[at.quadrature + k]!, first);
      second = stepAllPass(memory, sectionsAt + k + 1, p[at.quadrature + k + 1]!, second);
    }
    scratch[scratchAt.first] = first;
    scratch[scratchAt.second] = second;
  }
}
