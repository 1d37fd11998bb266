import { log10, pow10 } from '../math/index.ts';

/** −0.691 + 10 log10(power), in LUFS: Recommendation ITU-R BS.1770-5, Annex 1, equation 2. Power 0 gives −∞. */
export function powerToLufs(weightedPower: number): number {
  return -0.691 + 10 * log10(weightedPower);
}

const lufsToPower = (lufs: number): number => pow10((lufs + 0.691) / 10);

const absoluteGatePower = lufsToPower(-70);
/** Relative gate: 10 LU below the mean of the blocks that passed the absolute one. */
const relativeGateRatio = 0.1;

/**
 * Integrated loudness of 400 ms blocks, given the weighted power of each (Σ G z over channels) and a gain applied to all of them.
 *
 * Two gates, −70 LUFS and then −10 LU, each passed by blocks above it: Recommendation ITU-R BS.1770-5, Annex 1, equations 3–7.
 * −∞ where no block passes; NaN where a block is not a number. `gainRatio` is an amplitude ratio.
 */
export function gatedLoudness(blockPowers: ArrayLike<number>, blockCount: number, gainRatio = 1): number {
  const powerGain = gainRatio * gainRatio;
  const first = meanAbove(blockPowers, blockCount, powerGain, absoluteGatePower);
  return powerToLufs(meanAbove(blockPowers, blockCount, powerGain, Math.max(absoluteGatePower, first * relativeGateRatio)));
}

function meanAbove(blockPowers: ArrayLike<number>, blockCount: number, powerGain: number, gatePower: number): number {
  let sum = 0;
  let count = 0;
  for (let i = 0; i < blockCount; i += 1) {
    const blockPower = blockPowers[i]! * powerGain;
    // Written so that a power that is not a number passes, and is seen in the result.
    if (!(blockPower <= gatePower)) {
      sum += blockPower;
      count += 1;
    }
  }
  return count === 0 ? 0 : sum / count;
}
