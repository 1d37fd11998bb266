/** The shaping stage running: x plus a branch of band limit, law and DC blocking. */
import type { PolynomialProgram, StageCounters, StageHome, StageRunner } from '../contract.ts';
import { clearCounters, freshCounters } from '../shared/counters.ts';
import { compiledShaping } from './emit/compiled-shaping.ts';
import { shapingLoops } from './shaping-loops.ts';
import { countsSize, memorySize, nonFiniteAt, peakAt } from './shaping-work.ts';
import type { ShapingState, ShapingWork } from './shaping-work.ts';

export class HarmonicShapingRunner implements StageRunner {
  readonly program: PolynomialProgram;
  readonly counters: StageCounters = freshCounters();
  readonly #state: ShapingState;
  readonly #home: StageHome | null;
  /** On arrays of the home's memory. */
  readonly #work: ShapingWork;

  constructor(program: PolynomialProgram, channels: number, home: StageHome | null = null) {
    const floats = (length: number): Float64Array => (home === null ? new Float64Array(length) : home.arena.floats(length));
    const parameters = floats(program.parameters.length);
    parameters.set(program.parameters);
    this.program = program;
    this.#home = home;
    this.#state = { parameters, memory: Array.from({ length: channels }, () => floats(memorySize)), counts: floats(countsSize) };
    this.#work = (home === null ? null : compiledShaping(home.memory, program)) ?? shapingLoops;
  }

  /** Room in a home's arena. */
  static bytes(program: PolynomialProgram, channels: number): number {
    return 8 * (program.parameters.length + channels * memorySize + countsSize) + 16 * (channels + 2);
  }

  /** Audio thread. */
  reset(): void {
    const { memory } = this.#state;
    for (let channel = 0; channel < memory.length; channel += 1) memory[channel]!.fill(0);
    clearCounters(this.counters);
  }

  /** Audio thread. Another kind of runner: starts from rest. */
  adopt(previous: StageRunner): void {
    if (!(previous instanceof HarmonicShapingRunner)) return;
    const [to, from] = [this.#state.memory, previous.#state.memory];
    const count = Math.min(to.length, from.length);
    for (let channel = 0; channel < count; channel += 1) to[channel]!.set(from[channel]!);
  }

  /** Volts in place. Audio thread: allocates nothing, never throws. A sample that is not finite gives 0 V and starts the memory afresh. */
  process(channels: readonly Float64Array[], offset: number, frames: number): void {
    const { counts } = this.#state;
    const work = this.#reaches(channels) ? this.#work : shapingLoops;
    work.shape(this.#state, channels, offset, frames);
    const counters = this.counters;
    for (let channel = 0; channel < channels.length; channel += 1) {
      counters.peakOutputVolts = Math.max(counters.peakOutputVolts, counts[peakAt + channel]!);
      counters.nonFinite += counts[nonFiniteAt + channel]!;
    }
    counters.samples += frames * channels.length;
  }

  #reaches(channels: readonly Float64Array[]): boolean {
    if (this.#home === null) return true;
    for (let channel = 0; channel < channels.length; channel += 1) if (!this.#home.arena.holds(channels[channel]!)) return false;
    return true;
  }
}
