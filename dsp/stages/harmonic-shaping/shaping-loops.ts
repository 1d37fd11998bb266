/** The shaping stage's work as a readable loop: reference of the compiled one, and what runs where there is none. Audio thread: nothing here allocates, throws or waits. */
import { heldParts, polynomialParts, scratchAt, scratchSize, stepAllPass, stepBandLimit, stepBlocking } from './branch.ts';
import { at } from './program.ts';
import { sectionCount } from './quadrature.ts';
import { blockingAt, isHeld, isSilent, nonFiniteAt, peakAt, sectionsAt } from './shaping-work.ts';
import type { ShapingState, ShapingWork } from './shaping-work.ts';

const scratch = new Float64Array(scratchSize);

export const shapingLoops: ShapingWork = { shape };

function shape(state: ShapingState, channels: readonly Float64Array[], offset: number, frames: number): void {
  for (let channel = 0; channel < channels.length; channel += 1) shapeOne(state, channel, channels[channel]!, offset, frames);
}

function shapeOne(state: ShapingState, channel: number, buffer: Float64Array, offset: number, frames: number): void {
  const p = state.parameters;
  const memory = state.memory[channel]!;
  const held = isHeld(state);
  const silent = isSilent(state);
  const makeUp = p[at.makeUpRatio]!;
  let peak = 0;
  let nonFinite = 0;
  for (let n = offset; n < offset + frames; n += 1) {
    const x = buffer[n]!;
    scratch[scratchAt.limited] = stepBandLimit(memory, 0, p, x);
    if (held) quadrature(p, memory);
    let y = x;
    if (!silent) {
      if (held) heldParts(p, scratch);
      else polynomialParts(p, scratch);
      y = x + (stepBlocking(memory, blockingAt, p[at.blocking]!, scratch[scratchAt.even]!) + scratch[scratchAt.odd]!);
    }
    y = y * makeUp + 0;
    if (!(y - y === 0)) {
      memory.fill(0);
      nonFinite += 1;
      y = 0;
    }
    const size = Math.abs(y);
    if (size > peak) peak = size;
    buffer[n] = y;
  }
  state.counts[peakAt + channel] = peak;
  state.counts[nonFiniteAt + channel] = nonFinite;
}

function quadrature(p: Float64Array, memory: Float64Array): void {
  let first = scratch[scratchAt.limited]!;
  let second = first;
  for (let k = 0; k < sectionCount; k += 2) {
    first = stepAllPass(memory, sectionsAt + k, p[at.quadrature + k]!, first);
    second = stepAllPass(memory, sectionsAt + k + 1, p[at.quadrature + k + 1]!, second);
  }
  scratch[scratchAt.first] = first;
  scratch[scratchAt.second] = second;
}
