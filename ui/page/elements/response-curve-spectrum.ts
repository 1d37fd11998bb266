/** The axis of the spectrum behind a curve. Pure. */
import type { LoopSpectrum } from '../../../dsp/measure/index.ts';

/** Decibels from the foot of the plot to its top. */
export const spectrumRange = 60;

/** Top of its axis: the loudest third octave, rounded up to ten. */
export function spectrumTopDb({ thirds }: LoopSpectrum): number {
  const loudest = thirds.reduce((most, { db }) => Math.max(most, db), -100);
  return 10 * Math.ceil(loudest / 10 + 0.05);
}
