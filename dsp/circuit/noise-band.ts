/** Noise in a band from a density at single frequencies. */
import { exp, log } from '../math/index.ts';

/** Figures of noise hold for this band, unweighted. */
export const audibleBandHz: readonly [number, number] = [20, 20_000];

/** Frequencies from `lowHz` to `highHz`, both included, `perDecade` or a few more to the decade, evenly spaced on a logarithmic axis. */
export function noiseFrequencies(lowHz: number = audibleBandHz[0], highHz: number = audibleBandHz[1], perDecade = 24): number[] {
  const nepers = log(highHz / lowHz);
  const steps = Math.max(1, Math.ceil((perDecade * nepers) / log(10) - 1e-9));
  return Array.from({ length: steps + 1 }, (_, k) => (k === 0 ? lowHz : k === steps ? highHz : lowHz * exp((nepers * k) / steps)));
}

/**
 * Mean square (V²) of a density (V²/Hz) over the span of `hz` (ascending). Between neighbours the density is taken as a power of frequency, which is exact for white, 1/f and
 * any slope of whole order; with 24 points a decade a first-order corner is off by 2e-4 at the most. A density of 0 at either end of a piece makes it a straight line.
 */
export function integrateDensity(hz: readonly number[], density: ArrayLike<number>): number {
  let sum = 0;
  for (let k = 1; k < hz.length; k += 1) sum += piece(hz[k - 1]!, hz[k]!, density[k - 1]!, density[k]!);
  return sum;
}

function piece(lowHz: number, highHz: number, low: number, high: number): number {
  if (!(low > 0 && high > 0)) return 0.5 * (low + high) * (highHz - lowHz);
  const nepers = log(highHz / lowHz);
  // ∫ S1 (f/f1)^a df = f1 S1 · (e^((a+1) L) − 1)/(a + 1), L = ln(f2/f1).
  const growth = log(high / low) + nepers;
  const mean = Math.abs(growth) < 1e-6 ? 1 + growth / 2 : (exp(growth) - 1) / growth;
  return lowHz * low * nepers * mean;
}

/** Density at a frequency between the given ones, by the same rule; the nearest beyond them. */
export function densityAt(hz: readonly number[], density: ArrayLike<number>, frequencyHz: number): number {
  const last = hz.length - 1;
  if (!(frequencyHz > hz[0]!)) return density[0]!;
  if (frequencyHz >= hz[last]!) return density[last]!;
  let k = 1;
  while (hz[k]! < frequencyHz) k += 1;
  const low = density[k - 1]!;
  const high = density[k]!;
  const share = log(frequencyHz / hz[k - 1]!) / log(hz[k]! / hz[k - 1]!);
  return low > 0 && high > 0 ? low * exp(share * log(high / low)) : low + share * (high - low);
}
