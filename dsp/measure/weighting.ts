/**
 * Distortion figures that weigh an order by how far it stands from the fundamental, for masking hides near harmonics and spares far ones.
 * n/2: Radio Manufacturers' Association, 1937; n²/4: D. E. L. Shorter, "The influence of high-order products in non-linear distortion",
 * Electronic Engineering 22, 1950, p. 152. Both give the second harmonic the weight 1.
 */
export interface HarmonicRatio {
  readonly order: number;
  /** |an/a1|. */
  readonly ratio: number;
}

/** Root of the sum of squares of ratio · n/2. */
export function weightedByHalfOrder(harmonics: readonly HarmonicRatio[]): number {
  return weighted(harmonics, (order) => order / 2);
}

/** Root of the sum of squares of ratio · n²/4. */
export function weightedByOrderSquared(harmonics: readonly HarmonicRatio[]): number {
  return weighted(harmonics, (order) => (order * order) / 4);
}

function weighted(harmonics: readonly HarmonicRatio[], weight: (order: number) => number): number {
  let sum = 0;
  for (const { order, ratio } of harmonics) {
    const part = ratio * weight(order);
    sum += part * part;
  }
  return Math.sqrt(sum);
}
