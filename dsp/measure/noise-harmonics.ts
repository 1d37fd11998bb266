/** Which harmonics lie under the noise. */
import { densityAt, type HarmonicFigures, type MeasuredHarmonic } from '../circuit/index.ts';
import { hasNoise, type PathPlan, type PathSetting } from '../path/index.ts';
import { pathNoise } from './noise-path.ts';

/**
 * A harmonic lies under the noise if it is weaker than what the noise has in this bandwidth round it: that of one second of listening to it alone, 1 Hz (a rectangular window; the ear takes its
 * bands wider and so loses a harmonic earlier).
 */
export const noiseAnalysisHz = 1;

export type MarkedHarmonic = MeasuredHarmonic & { readonly underNoise?: true };

/** Density of noise at an output, V²/Hz. */
export interface OutputDensity {
  readonly hz: readonly number[];
  readonly density: Float64Array;
}

/** Of each harmonic, in order. `bandwidthHz`: of the analysis, 1/seconds. */
export function harmonicsUnderNoise(
  figures: Pick<HarmonicFigures, 'fundamental' | 'harmonics'>, frequencyHz: number, noise: OutputDensity, bandwidthHz = noiseAnalysisHz,
): boolean[] {
  return figures.harmonics.map(({ order, ratio }) => {
    const peakVolts = ratio * figures.fundamental.peakVolts;
    return (peakVolts * peakVolts) / 2 < densityAt(noise.hz, noise.density, order * frequencyHz) * bandwidthHz;
  });
}

/** The same figures, `underNoise` on the harmonics that lie under the path's noise; as they are where its noise is off. */
export function markUnderNoise<F extends HarmonicFigures & { readonly frequencyHz: number }>(
  figures: F, path: PathSetting, plan: PathPlan,
): Omit<F, 'harmonics'> & { readonly harmonics: readonly MarkedHarmonic[] } {
  if (!hasNoise(path.supply)) return figures;
  const under = harmonicsUnderNoise(figures, figures.frequencyHz, pathNoise(path, plan));
  return { ...figures, harmonics: figures.harmonics.map((harmonic, k) => (under[k] ? { ...harmonic, underNoise: true as const } : harmonic)) };
}
