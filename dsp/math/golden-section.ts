import { power } from './decibels.ts';
import { log2 } from './log.ts';

/**
 * Where `value` is largest between two positive places, by golden sections of their logarithm; one evaluation and one yield a round, each of which leaves 0.618 of the
 * stretch. `value` should have one summit there.
 */
export function* summitInSteps(value: (at: number) => number, from: number, to: number, rounds: number): Generator<undefined, number> {
  const golden = (Math.sqrt(5) - 1) / 2;
  let [low, high] = [log2(from), log2(to)];
  let [first, second] = [high - golden * (high - low), low + golden * (high - low)];
  let [atFirst, atSecond] = [value(power(2, first)), value(power(2, second))];
  for (let round = 0; round < rounds; round += 1) {
    if (atFirst > atSecond) {
      [high, second, atSecond] = [second, first, atFirst];
      first = high - golden * (high - low);
      atFirst = value(power(2, first));
    } else {
      [low, first, atFirst] = [first, second, atSecond];
      second = low + golden * (high - low);
      atSecond = value(power(2, second));
    }
    yield undefined;
  }
  return power(2, (low + high) / 2);
}
