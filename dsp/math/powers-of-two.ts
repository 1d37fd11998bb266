// Exact powers of two by table, made by doubling and halving 1 alone.

/** Index of 2^0 in the table. */
export const POWERS_OF_TWO_ORIGIN = 1074;

/** 2^k at index k + 1074, for k = −1074 (the smallest subnormal) … 1023. Read-only by agreement. */
export const POWERS_OF_TWO: Float64Array = makePowers();

function makePowers(): Float64Array {
  const powers = new Float64Array(POWERS_OF_TWO_ORIGIN + 1024);
  powers[POWERS_OF_TWO_ORIGIN] = 1;
  for (let i = POWERS_OF_TWO_ORIGIN + 1; i < powers.length; i++) powers[i] = 2 * powers[i - 1]!;
  for (let i = POWERS_OF_TWO_ORIGIN - 1; i >= 0; i--) powers[i] = powers[i + 1]! / 2;
  return powers;
}

/**
 * 2^k, exact. k an integer; k > 1023 gives ∞, k < −1074 gives 0. Allocates nothing.
 */
export function powerOfTwo(k: number): number {
  if (k > 1023) return Infinity;
  if (k < -POWERS_OF_TWO_ORIGIN) return 0;
  return POWERS_OF_TWO[(k | 0) + POWERS_OF_TWO_ORIGIN]!;
}
