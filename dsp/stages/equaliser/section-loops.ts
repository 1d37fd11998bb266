/** The equaliser's work as a readable loop: reference of the compiled one, and what runs where there is none. Audio thread: nothing here allocates, throws or waits. */
import type { LinearProgram } from '../contract.ts';
import { at, memoriesOfSection, sectionSize } from './section.ts';
import { peakAt, silence, soundVolts } from './section-work.ts';
import type { LinearState, LinearWork } from './section-work.ts';

export const sectionLoops: LinearWork = { isSound, filter };

function isSound(channels: readonly Float64Array[], offset: number, frames: number): boolean {
  for (let channel = 0; channel < channels.length; channel += 1) {
    const buffer = channels[channel]!;
    for (let n = offset; n < offset + frames; n += 1) if (!(Math.abs(buffer[n]!) <= soundVolts)) return false;
  }
  return true;
}

function filter(program: LinearProgram, state: LinearState, channels: readonly Float64Array[], offset: number, frames: number): void {
  for (let channel = 0; channel < channels.length; channel += 1) filterOne(program, state, channel, channels[channel]!, offset, frames);
}

/** One channel. */
export function filterOne(program: LinearProgram, state: LinearState, channel: number, buffer: Float64Array, offset: number, frames: number): void {
  const memory = state.memory[channel]!;
  for (let k = 0; k < program.places.length; k += 1) section(state.coefficients, sectionSize * k, memory, memoriesOfSection * program.places[k]!, buffer, offset, frames);
  const { gain } = program;
  let peak = 0;
  for (let n = offset; n < offset + frames; n += 1) {
    const y = buffer[n]! * gain + 0;
    const size = Math.abs(y);
    if (size > peak) peak = size;
    buffer[n] = y;
  }
  state.counts[peakAt + channel] = peak;
}

/** One section over a block, its numbers from `from` on, its memories at `place`. */
export function section(coefficients: Float64Array, from: number, memory: Float64Array, place: number, buffer: Float64Array, offset: number, frames: number): void {
  const keep = coefficients[from + at.keep]!;
  const turn = coefficients[from + at.turn]!;
  const rise = coefficients[from + at.rise]!;
  const direct = coefficients[from + at.direct]!;
  const low = coefficients[from + at.low]!;
  const band1 = coefficients[from + at.band1]!;
  const band2 = coefficients[from + at.band2]!;
  let first = memory[place]!;
  let second = memory[place + 1]!;
  for (let n = offset; n < offset + frames; n += 1) {
    const x = buffer[n]!;
    const d = x - second;
    const nextFirst = keep * first + turn * d;
    const nextSecond = second + (turn * first + rise * d);
    buffer[n] = direct * x + (low * second + (band1 * first + band2 * d));
    first = nextFirst < silence && nextFirst > -silence ? 0 : nextFirst;
    second = nextSecond < silence && nextSecond > -silence ? 0 : nextSecond;
  }
  memory[place] = first;
  memory[place + 1] = second;
}
