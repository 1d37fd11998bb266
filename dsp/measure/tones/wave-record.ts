/** What a meter is fed, and what it says of something that cannot be measured: a sentence, never a number. */

export interface WaveRecord {
  readonly samples: Float64Array;
  readonly rateHz: number;
  /** Whether `samples` are whole periods of what repeats itself for ever; else a stretch of something that goes on before and after. */
  readonly repeats: boolean;
  /** Largest value a sample can have, where there is such a limit (a recording): samples that stay there are clipped. */
  readonly fullScale?: number;
}

/** What every meter answers: its reading, or why there is none. */
export type Metered<Reading> = (Reading & { readonly refusal?: undefined }) | { readonly refusal: string };

/** So many samples in a row at full scale are not the top of a tone any more. */
const clippedInARow = 3;
/** Of the largest sample: what moves less than this about its mean is rounding. */
const stillness = 1e-12;

/** Why no meter can read anything off the record; null if one may try. */
export function whyUnreadable({ samples, fullScale }: Pick<WaveRecord, 'samples' | 'fullScale'>): string | null {
  if (samples.length === 0) return 'no samples: there is nothing to measure';
  let lowest = Infinity;
  let highest = -Infinity;
  let inARow = 0;
  let longestInARow = 0;
  for (let i = 0; i < samples.length; i += 1) {
    const value = samples[i]!;
    if (!(Math.abs(value) < Infinity)) return `sample ${i} is ${value}: nothing can be measured of what is not finite`;
    if (value < lowest) lowest = value;
    if (value > highest) highest = value;
    if (fullScale === undefined) continue;
    inARow = Math.abs(value) >= fullScale ? inARow + 1 : 0;
    if (inARow > longestInARow) longestInARow = inARow;
  }
  const largest = Math.max(Math.abs(lowest), Math.abs(highest));
  if (largest === 0) return 'silence: there is nothing to measure';
  if (longestInARow >= clippedInARow) return `clipped: ${longestInARow} samples in a row stand at full scale; turn the level down and record again`;
  if (highest - lowest <= stillness * largest) return `DC alone, ${((highest + lowest) / 2).toPrecision(4)}: there is no tone in it`;
  return null;
}

/** Rms of what moves about the mean. */
function movingRms(samples: Float64Array): number {
  const mean = samples.reduce((sum, value) => sum + value, 0) / samples.length;
  return Math.sqrt(samples.reduce((sum, value) => sum + (value - mean) * (value - mean), 0) / samples.length);
}

/** Weaker than this, over all that moves, a tone is not there: rounding in whole periods, in a stretch what a window lets leak. */
export function leastTonePeak({ samples, repeats }: WaveRecord): number {
  return (repeats ? 1e-7 : 1e-4) * movingRms(samples);
}
