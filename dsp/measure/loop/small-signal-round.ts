import type { PathPlan } from '../../path/index.ts';
import { playRound } from './play-round.ts';
import { made, shared } from './steps.ts';

/**
 * How far down the loop is turned: 80 dB. Second-order parts cancel between the two polarities, third-order ones fall by 160 dB, and rounding (1e-15 of a supply of 20 V) still lies 200 dB under
 * what is heard. Measured over all stages at their default values, at both grades: it
 * differs from 1e-3 and 1e-5 by −130 dB or less (a saturating core; circuits of transistors −134 dB), by −310 dB where the stage is linear.
 */
const share = 1e-4;

/**
 * What a path does with a loop by its small-signal response alone, as loud as the loop is: half the difference of two runs 80 dB down, one of them upside down. It is the path's own response
 * at its operating point, as discretised, ladder and all, whatever stages there are, to the sample; no transform, so any length. Yields base frames done; one round for every channel.
 */
export function* smallSignalRound(plan: PathPlan, loop: readonly Float64Array[]): Generator<number, Float64Array[]> {
  const linear: Float64Array[] = [];
  for (const channel of loop) {
    let done = 0;
    const { channels: [up, down] } = yield* shared(playRound(plan, [channel, channel], { gains: [share, -share] }), (frames) => (done = frames));
    linear.push(yield* shared(made(channel.length, (i) => (up![i]! - down![i]!) / (2 * share)), () => done));
  }
  return linear;
}
