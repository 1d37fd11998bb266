/**
 * What hits in a number of trials say. Everything is exact in the sense of the binomial law: no normal approximation. A probability is the weight of some counts
 * over the weight of all, each weight from its neighbour by their ratio, so that nothing is lost to large factorials (relative error about n · 1e-16).
 */

/** Most trials that are reckoned with. */
export const mostTrials = 100_000;

function requireCounts(hits: number, trials: number): void {
  if (!Number.isInteger(trials) || trials < 0 || trials > mostTrials) throw new RangeError(`trials: expected a whole number from 0 to ${mostTrials}, got ${trials}`);
  if (!Number.isInteger(hits) || hits < 0 || hits > trials) throw new RangeError(`hits: expected a whole number from 0 to ${trials}, got ${hits}`);
}

function requireProbability(name: string, value: number): void {
  if (!(value >= 0 && value <= 1)) throw new RangeError(`${name}: expected a probability from 0 to 1, got ${value}`);
}

/** Weights of all counts 0 … trials, the largest of them 1. `rate` strictly between 0 and 1. */
function weights(trials: number, rate: number): Float64Array {
  const all = new Float64Array(trials + 1);
  const mode = Math.min(trials, Math.floor((trials + 1) * rate));
  const odds = rate / (1 - rate);
  all[mode] = 1;
  for (let k = mode; k < trials; k += 1) all[k + 1] = all[k]! * ((trials - k) / (k + 1)) * odds;
  for (let k = mode; k > 0; k -= 1) all[k - 1] = all[k]! * (k / (trials - k + 1) / odds);
  return all;
}

/** Share of the counts that `counted` names; the small ones are added first: weights fall from the mode to either end, so the next smallest is always at one of them. */
function share(trials: number, rate: number, counted: (count: number, weight: number) => boolean): number {
  if (rate === 0 || rate === 1) return counted(rate === 0 ? 0 : trials, 1) ? 1 : 0;
  const all = weights(trials, rate);
  let some = 0;
  let rest = 0;
  for (let low = 0, high = trials; low <= high;) {
    const fromBelow = all[low]! <= all[high]!;
    const count = fromBelow ? low : high;
    const weight = all[count]!;
    if (counted(count, weight)) some += weight;
    else rest += weight;
    if (fromBelow) low += 1;
    else high -= 1;
  }
  return some / (some + rest);
}

/** Chance of at least `hits` in `trials` at this hit rate: one-sided p against guessing at rate 0.5. Throws RangeError. */
export function chanceOfAtLeast(hits: number, trials: number, rate: number): number {
  requireCounts(hits, trials);
  requireProbability('rate', rate);
  return share(trials, rate, (count) => count >= hits);
}

/** Chance of at most `hits`. Throws RangeError. */
export function chanceOfAtMost(hits: number, trials: number, rate: number): number {
  requireCounts(hits, trials);
  requireProbability('rate', rate);
  return share(trials, rate, (count) => count <= hits);
}

/** Counts this little likelier than the one found still count as no likelier: rounding. */
const likelihoodSlack = 1e-7;

/** Two-sided p: chance of a count no likelier than this one at this rate (method of least likelihood, as common in statistics packages). Throws RangeError. */
export function twoSidedChance(hits: number, trials: number, rate: number): number {
  requireCounts(hits, trials);
  requireProbability('rate', rate);
  if (rate === 0 || rate === 1) return hits === rate * trials ? 1 : 0;
  const found = weights(trials, rate)[hits]!;
  return share(trials, rate, (_, weight) => weight <= found * (1 + likelihoodSlack));
}

/** Where a monotone function of the rate crosses 0, to the last bit or nearly. */
function rateWhere(rising: (rate: number) => number): number {
  let low = 0;
  let high = 1;
  for (let halvings = 0; halvings < 80; halvings += 1) {
    const middle = (low + high) / 2;
    if (middle === low || middle === high) break;
    if (rising(middle) < 0) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/**
 * Interval of hit rates that this count does not contradict at the level of confidence: at its ends the count, or one further out, has half the remaining
 * chance (C. J. Clopper, E. S. Pearson, The use of confidence or fiducial limits illustrated in the case of the binomial, 1934). Throws RangeError.
 */
export function hitRateInterval(hits: number, trials: number, confidence = 0.95): { readonly lower: number; readonly upper: number } {
  requireCounts(hits, trials);
  if (!(confidence > 0 && confidence < 1)) throw new RangeError(`confidence: expected between 0 and 1, got ${confidence}`);
  const tail = (1 - confidence) / 2;
  return {
    lower: hits === 0 ? 0 : rateWhere((rate) => chanceOfAtLeast(hits, trials, rate) - tail),
    upper: hits === trials ? 1 : rateWhere((rate) => tail - chanceOfAtMost(hits, trials, rate)),
  };
}

/** Least hits whose chance by guessing (rate 0.5) is at most `significance`; null where even all hits are likelier. Throws RangeError. */
export function hitsNeeded(trials: number, significance: number): number | null {
  requireCounts(0, trials);
  requireProbability('significance', significance);
  // By halves, with the very chance that a result is judged by: no other order of adding that could fall on the other side of the limit.
  let tooFew = -1;
  let enough = trials + 1;
  while (enough - tooFew > 1) {
    const hits = (tooFew + enough) >> 1;
    if (chanceOfAtLeast(hits, trials, 0.5) > significance) tooFew = hits;
    else enough = hits;
  }
  return enough > trials ? null : enough;
}

/** Chance that a listener of this true hit rate reaches the hits needed (L. Leventhal, Type 1 and type 2 errors in the statistical analysis of listening tests, 1986). */
export function powerOf(trials: number, hits: number, trueRate: number): number {
  return chanceOfAtLeast(hits, trials, trueRate);
}

/** Chance that a two-sided sign test of so many stated preferences shows one, where each is for the same side with this true rate. */
export function signTestPower(trials: number, significance: number, trueRate: number): number {
  const needed = hitsNeeded(trials, significance / 2);
  return needed === null ? 0 : chanceOfAtLeast(needed, trials, trueRate) + chanceOfAtMost(trials - needed, trials, trueRate);
}
