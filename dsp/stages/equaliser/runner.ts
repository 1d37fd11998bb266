/** The equaliser running: its sections in series, then an ideal gain. */
import type { LinearProgram, StageCounters, StageHome, StageRunner } from '../contract.ts';
import { clearCounters, freshCounters } from '../shared/counters.ts';
import { compiledSections } from './emit/compiled-sections.ts';
import { sectionSize } from './section.ts';
import { filterOne, sectionLoops } from './section-loops.ts';
import { countsSize, memorySize, peakAt, soundVolts } from './section-work.ts';
import type { LinearState, LinearWork } from './section-work.ts';

/** Everything but the constructor may be called from the audio callback: it allocates nothing, never throws, never waits. */
export class LinearRunner implements StageRunner {
  readonly program: LinearProgram;
  readonly counters: StageCounters = freshCounters();
  readonly #state: LinearState;
  readonly #home: StageHome | null;
  /** On arrays of the home's memory. */
  readonly #work: LinearWork;

  constructor(program: LinearProgram, channels: number, home: StageHome | null = null) {
    const floats = (length: number): Float64Array => (home === null ? new Float64Array(length) : home.arena.floats(length));
    const coefficients = floats(program.coefficients.length);
    coefficients.set(program.coefficients);
    this.program = program;
    this.#home = home;
    this.#state = { coefficients, memory: Array.from({ length: channels }, () => floats(memorySize(program))), counts: floats(countsSize) };
    this.#work = (home === null ? null : compiledSections(home.memory)) ?? sectionLoops;
  }

  /** Room in a home's arena: for the program itself, or with every place taken. */
  static bytes(program: LinearProgram, channels: number, extent: 'itself' | 'dearest rule'): number {
    const numbers = extent === 'itself' ? program.coefficients.length : sectionSize * program.placeCount;
    return 8 * (numbers + channels * memorySize(program) + countsSize) + 16 * (channels + 2);
  }

  reset(): void {
    const { memory } = this.#state;
    for (let channel = 0; channel < memory.length; channel += 1) memory[channel]!.fill(0);
    clearCounters(this.counters);
  }

  /** Each place keeps its memory; a section just switched on starts from rest, and so does everything behind another kind of runner or another rate. */
  adopt(previous: StageRunner): void {
    if (!(previous instanceof LinearRunner)) return;
    const [to, from] = [this.#state.memory, previous.#state.memory];
    const count = Math.min(to.length, from.length);
    if (previous.program.placeCount !== this.program.placeCount) return;
    for (let channel = 0; channel < count; channel += 1) to[channel]!.set(from[channel]!);
  }

  /** Volts in place. A sample that is not finite, or beyond any circuit's reach, gives 0 V and starts the channel's memory afresh. */
  process(channels: readonly Float64Array[], offset: number, frames: number): void {
    const work = this.#reaches(channels) ? this.#work : sectionLoops;
    if (work.isSound(channels, offset, frames)) {
      work.filter(this.program, this.#state, channels, offset, frames);
      for (let channel = 0; channel < channels.length; channel += 1) this.#countPeak(channel);
    } else {
      for (let channel = 0; channel < channels.length; channel += 1) this.#piecewise(channel, channels[channel]!, offset, frames);
    }
    this.counters.samples += frames * channels.length;
  }

  /** One channel, from one unsound sample to the next. */
  #piecewise(channel: number, buffer: Float64Array, offset: number, frames: number): void {
    const end = offset + frames;
    let start = offset;
    while (start < end) {
      let stop = start;
      while (stop < end && Math.abs(buffer[stop]!) <= soundVolts) stop += 1;
      filterOne(this.program, this.#state, channel, buffer, start, stop - start);
      this.#countPeak(channel);
      if (stop < end) {
        buffer[stop] = 0;
        this.#state.memory[channel]!.fill(0);
        this.counters.nonFinite += 1;
      }
      start = stop + 1;
    }
  }

  #countPeak(channel: number): void {
    const peak = this.#state.counts[peakAt + channel]!;
    if (peak > this.counters.peakOutputVolts) this.counters.peakOutputVolts = peak;
  }

  #reaches(channels: readonly Float64Array[]): boolean {
    if (this.#home === null) return true;
    for (let channel = 0; channel < channels.length; channel += 1) if (!this.#home.arena.holds(channels[channel]!)) return false;
    return true;
  }
}
