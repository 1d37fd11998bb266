/** An integration rule over one period: what its instances are fed with, and what their outputs make together. Indices wrap round the period. */

/**
 * Weights of u[n], u[n−1], u[n−2], u[n−3] at n − 1 + k/R, k = 1 … R − 1, and their common divisor: the cubic through the four (Lagrange). At k = R it is u[n] itself.
 */
const cubicWeights = {
  1: { divisor: 1, rows: [] },
  2: { divisor: 16, rows: [[5, 15, -5, 1]] },
  4: { divisor: 128, rows: [[15, 135, -27, 5], [40, 120, -40, 8], [77, 77, -33, 7]] },
} as const;

/** One period of the input of an instance with `subSteps` steps a sample, as the causal cubic makes it while playing. */
export function periodOfSubInputs(input: Float64Array, subSteps: 1 | 2 | 4): Float64Array {
  const frames = input.length;
  if (subSteps === 1) return input;
  const { divisor, rows } = cubicWeights[subSteps];
  const at = (n: number): number => input[((n % frames) + frames) % frames]!;
  const sub = new Float64Array(frames * subSteps);
  for (let n = 0; n < frames; n += 1) {
    const [u0, u1, u2, u3] = [at(n), at(n - 1), at(n - 2), at(n - 3)];
    rows.forEach(([w0, w1, w2, w3], k) => {
      sub[n * subSteps + k] = (w0 * u0 + w1 * u1 + w2 * u2 + w3 * u3) / divisor;
    });
    sub[n * subSteps + subSteps - 1] = u0;
  }
  return sub;
}

/** The last step of every sample of one period at the instance's own step: its output at the program's rate. */
export function lastSteps(period: Float64Array, subSteps: number): Float64Array {
  if (subSteps === 1) return period;
  return Float64Array.from({ length: period.length / subSteps }, (_, n) => period[n * subSteps + subSteps - 1]!);
}

/** Output of a rule of one or two instances (coarse first) from theirs at the program's rate: of two (4 fine − coarse)/3. */
export function combinedPeriods([coarse, fine]: readonly Float64Array[]): Float64Array {
  return fine === undefined ? coarse! : fine.map((volts, n) => (4 * volts - coarse![n]!) / 3);
}
