/**
 * Preferred values of IEC 60063 ("Preferred number series for resistors and capacitors", 2015). The tables are the published ones:
 * E12 and E24 differ from the rounded geometric series at eight places (27, 30, 33, 36, 39, 43, 47 and 82).
 */

export type SeriesName = 'E12' | 'E24' | 'E96';

const e12 = [10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82];
const e24 = [10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91];
const e96 = [
  100, 102, 105, 107, 110, 113, 115, 118, 121, 124, 127, 130, 133, 137, 140, 143, 147, 150, 154, 158, 162, 165, 169, 174,
  178, 182, 187, 191, 196, 200, 205, 210, 215, 221, 226, 232, 237, 243, 249, 255, 261, 267, 274, 280, 287, 294, 301, 309,
  316, 324, 332, 340, 348, 357, 365, 374, 383, 392, 402, 412, 422, 432, 442, 453, 464, 475, 487, 499, 511, 523, 536, 549,
  562, 576, 590, 604, 619, 634, 649, 665, 681, 698, 715, 732, 750, 768, 787, 806, 825, 845, 866, 887, 909, 931, 953, 976,
];

/** Steps of one decade, as whole numbers with `digits` digits: 47 stands for 4.7. */
export const preferredSeries: Readonly<Record<SeriesName, { readonly digits: 2 | 3; readonly steps: readonly number[] }>> = {
  E12: { digits: 2, steps: e12 },
  E24: { digits: 2, steps: e24 },
  E96: { digits: 3, steps: e96 },
};

/** Relative distance below which a value counts as lying on the series: far under 1 %, far above rounding. */
const onSeries = 1e-9;

/** The series through the decade of `value` and its neighbours, ascending, correctly rounded from decimal. */
function around(value: number, series: SeriesName): number[] {
  const { digits, steps } = preferredSeries[series];
  const decade = Number(value.toExponential().split('e')[1]);
  const candidates: number[] = [];
  for (let exponent = decade - 1; exponent <= decade + 1; exponent++) {
    for (const step of steps) candidates.push(Number(`${step}e${exponent - digits + 1}`));
  }
  return candidates;
}

function requirePositive(value: number): void {
  if (!(value > 0 && value < Infinity)) throw new RangeError(`preferred values: expected a finite value > 0, got ${value}`);
}

/**
 * The next value of the series strictly above (direction 1) or below (−1) `value`, any base unit.
 * @throws RangeError unless 0 < value < ∞
 */
export function nextPreferred(value: number, series: SeriesName, direction: 1 | -1): number {
  requirePositive(value);
  const candidates = around(value, series);
  const found = direction > 0
    ? candidates.find((candidate) => candidate > value * (1 + onSeries))
    : candidates.findLast((candidate) => candidate < value * (1 - onSeries));
  return found!;
}

/**
 * The value of the series with the smallest ratio to `value` (half way is the geometric mean; there the larger is taken).
 * @throws RangeError unless 0 < value < ∞
 */
export function nearestPreferred(value: number, series: SeriesName): number {
  requirePositive(value);
  const candidates = around(value, series);
  const above = candidates.find((candidate) => candidate >= value)!;
  const below = candidates.findLast((candidate) => candidate <= value)!;
  return value / below < above / value ? below : above;
}
