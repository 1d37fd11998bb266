/** What is kept of a live input. */
import { expect, it } from 'vitest';
import { KeptInput, keptSeconds } from '../../worklets/kept-input.ts';

const rateHz = 1000;
const counting = (from: number, frames: number): Float64Array => Float64Array.from({ length: frames }, (_, i) => from + i);

it('is the last half minute, the last sample last, whatever the blocks', () => {
  const kept = new KeptInput(rateHz);
  expect(kept.last(20)).toBeNull();
  let next = 0;
  for (const frames of [1, 700, 12_345, 9000, 128, 20_000]) {
    kept.push([counting(next, frames), counting(-next - frames, frames)], frames, next > 0);
    next += frames;
  }
  expect(kept.heldSeconds).toBe(keptSeconds);
  for (const seconds of [0.001, 20, 30, 60]) {
    const [left, right] = kept.last(seconds)!;
    const frames = Math.min(seconds, keptSeconds) * rateHz;
    expect([left!.length, right!.length]).toEqual([frames, frames]);
    left!.forEach((sample, i) => { if (sample !== next - frames + i) throw new Error(`${seconds} s, frame ${i}: ${sample}`); });
  }
});

it('begins anew where samples do not join on, or come in other channels', () => {
  const kept = new KeptInput(rateHz);
  kept.push([counting(0, 500)], 500, false);
  kept.push([counting(500, 500)], 500, true);
  expect(kept.heldSeconds).toBe(1);
  kept.push([counting(0, 100)], 100, false);
  expect(kept.heldSeconds).toBe(0.1);
  kept.push([counting(0, 50), counting(0, 50)], 50, true);
  expect([kept.heldSeconds, kept.last(20)!.length]).toEqual([0.05, 2]);
});

it('tells the largest magnitude since it was asked last', () => {
  const kept = new KeptInput(rateHz);
  kept.push([Float64Array.of(0.1, -0.7, 0.2)], 3, false);
  expect([kept.takePeak(), kept.takePeak()]).toEqual([0.7, 0]);
});
