/** Hum as it is added: one period in a table. */
import { chooseFrequency } from '../circuit/index.ts';
import { sin } from '../math/index.ts';
import type { PlannedHum } from './plan.ts';

/**
 * One period of the hum in units of `fullScaleVolts`, to be read round and round from frame 0 on: what is added depends on the frame alone. The frequency is the one
 * nearest to the mains' whose period is a whole number of samples (exact at the usual rates). Off the audio thread.
 */
export function humTable({ fundamentalHz, parts }: PlannedHum, rateHz: number, fullScaleVolts: number): Float64Array {
  const { cycles, periodFrames: frames } = chooseFrequency(fundamentalHz, rateHz);
  const table = new Float64Array(frames);
  for (const { order, peakVolts, quarters } of parts) {
    if (2 * order * fundamentalHz >= rateHz) continue;
    const peak = peakVolts / fullScaleVolts;
    for (let i = 0; i < frames; i += 1) {
      const turns = ((order * cycles * i) % frames) / frames + quarters / 4;
      table[i] = table[i]! + peak * sin(2 * Math.PI * turns);
    }
  }
  return table;
}
