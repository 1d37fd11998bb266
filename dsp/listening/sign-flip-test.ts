/**
 * Exact paired randomisation test of whole-number ratings. Where chance alone gave each pair its order, every difference could as well have had the other sign: of all 2^n such
 * arrangements, p is the share whose sum lies at least as far from 0 as the one found (R. A. Fisher, The design of experiments, 1935, section 21). No law is assumed of the
 * ratings. Sums are counted instead of arrangements, so that many pairs cost little; the shares are exact to 53 pairs, beyond that to about n · 1e-16.
 */
import { powerOfTwo } from '../math/index.ts';

/** Most pairs, and the largest sum of sizes, that are reckoned with. */
export const mostPairs = 1000;
const largestSum = 1_000_000;

export interface SignFlipResult {
  readonly pairs: number;
  /** Of the differences. */
  readonly sum: number;
  /** Two-sided; 1 where no pair differs. */
  readonly p: number;
}

/** @param differences of each pair, first less second, whole numbers. Throws RangeError. */
export function signFlipTest(differences: readonly number[]): SignFlipResult {
  if (differences.length > mostPairs) throw new RangeError(`pairs: expected at most ${mostPairs}, got ${differences.length}`);
  const odd = differences.find((difference) => !Number.isInteger(difference));
  if (odd !== undefined) throw new RangeError(`differences: expected whole numbers, got ${odd}`);
  const sizes = differences.map((difference) => Math.abs(difference));
  const most = sizes.reduce((total, size) => total + size, 0);
  if (most > largestSum) throw new RangeError(`differences: expected a sum of sizes of at most ${largestSum}, got ${most}`);
  const sum = differences.reduce((total, difference) => total + difference, 0);
  const shares = sharesOfSums(sizes, most);
  let p = 0;
  // Both tails from their ends inward: the small ones first.
  for (let far = most; far >= Math.max(1, Math.abs(sum)); far -= 1) p += shares[most + far]! + shares[most - far]!;
  return { pairs: differences.length, sum: sum + 0, p: sum === 0 ? 1 : p };
}

/** Least two-sided p that so many pairs can give: all differences on one side. */
export function leastSignFlipP(pairs: number): number {
  return pairs === 0 ? 1 : powerOfTwo(1 - pairs);
}

/** Share of the arrangements at each sum from −most to most, the sum of the sizes. */
function sharesOfSums(sizes: readonly number[], most: number): Float64Array {
  let shares = new Float64Array(2 * most + 1);
  shares[most] = 1;
  let reached = 0;
  for (const size of sizes) {
    const next = new Float64Array(shares.length);
    for (let at = most - reached; at <= most + reached; at += 1) {
      const half = shares[at]! / 2;
      if (half === 0) continue;
      next[at - size]! += half;
      next[at + size]! += half;
    }
    shares = next;
    reached += size;
  }
  return shares;
}
