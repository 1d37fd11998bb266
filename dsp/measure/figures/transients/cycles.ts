/** A chain driven by a tone whose strength changes at whole cycles: what comes out, cycle by cycle. In steps, off the audio thread. */
import { cosineTable, projectHarmonics } from '../../../circuit/index.ts';
import { blockFrames, type PlayedChain } from './chain.ts';

/** One cycle of the output. */
export interface CycleFigures {
  readonly meanVolts: number;
  /** Peak volts of order 1, 2 and 3. */
  readonly amplitudes: readonly [number, number, number];
  readonly leastVolts: number;
  readonly mostVolts: number;
}

const orders = [1, 2, 3] as const;
/** Places in a cycle at which what capacitors hold is looked at. */
export const looksPerCycle = 16;

export function cycleFigures(wave: Float64Array): CycleFigures {
  const { dcVolts, amplitudes } = projectHarmonics(wave, 1, orders);
  let [least, most] = [Infinity, -Infinity];
  for (const volts of wave) {
    if (volts < least) least = volts;
    if (volts > most) most = volts;
  }
  return { meanVolts: dcVolts, amplitudes: [amplitudes[0]!, amplitudes[1]!, amplitudes[2]!], leastVolts: least, mostVolts: most };
}

/** Cycle `index` of a tone, as it comes out of `chain`: `peakVolts` · sin, from 0 V on, so that a change of strength between cycles is no jump. `look` is called `looksPerCycle` times. */
export function* playedCycle(chain: PlayedChain, sines: Float64Array, peakVolts: number, look?: () => void): Generator<undefined, Float64Array> {
  const frames = sines.length;
  const wave = sines.map((each) => each * peakVolts);
  let done = 0;
  for (let part = 1; part <= looksPerCycle; part += 1) {
    const end = Math.round((part * frames) / looksPerCycle);
    while (done < end) {
      const count = Math.min(blockFrames, end - done);
      chain.play(wave, done, count);
      done += count;
    }
    look?.();
    if (part % 4 === 0 && frames > blockFrames) yield undefined;
  }
  return wave;
}

/** One cycle of a sine in `frames` samples. */
export function sineCycle(frames: number): Float64Array {
  const cosines = cosineTable(4 * frames);
  return Float64Array.from({ length: frames }, (_, k) => cosines[(4 * k + 3 * frames) % (4 * frames)]!);
}

/** Frames of the cycle nearest to a frequency. */
export const cycleFrames = (rateHz: number, frequencyHz: number): number => Math.max(looksPerCycle, Math.round(rateHz / frequencyHz));

/** Seconds in which what `values` wander from their first to their last has gone by all but 1/e, for good; NaN where they do not wander. */
export function wanderSeconds(seconds: readonly number[], values: readonly number[], least: number): number {
  const end = values.at(-1)!;
  let most = 0;
  for (const value of values) most = Math.max(most, Math.abs(value - end));
  if (!(most > least)) return NaN;
  let last = -1;
  values.forEach((value, k) => {
    if (Math.abs(value - end) > most * inverseE) last = k;
  });
  return last < 0 ? seconds[0]! : seconds[last]!;
}

const inverseE = 0.36787944117144233;

