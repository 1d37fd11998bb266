/**
 * A test that may end early and still keeps its word: the sequential probability ratio test (A. Wald, Sequential analysis, 1947). After n trials with k hits it
 * goes on while lower(n) < k < upper(n), two parallel lines; reaching the upper one decides for "heard" (rate `heardRate`), the lower one for "guessed". A plan
 * here also ends at `mostTrials`, where the nearer line decides; what that does to the errors is computed exactly, trial by trial, not assumed.
 */
import { log } from '../math/index.ts';

export interface SequentialPlan {
  /** Hit rate of someone who guesses. */
  readonly guessRate: number;
  /** Hit rate that shall be told from it. */
  readonly heardRate: number;
  /** Chance allowed of "heard" although guessed, and of "guessed" although heard. */
  readonly falseAlarm: number;
  readonly miss: number;
  /** The test ends here at the latest. */
  readonly mostTrials: number;
}

export interface SequentialLines {
  /** Hits a trial along both lines. */
  readonly slope: number;
  /** Of the upper line, above 0; of the lower, below 0. */
  readonly upperIntercept: number;
  readonly lowerIntercept: number;
}

export type SequentialVerdict = 'heard' | 'guessed' | 'go on';

/** Throws RangeError for rates or errors that make no test. */
export function sequentialLines({ guessRate, heardRate, falseAlarm, miss }: Omit<SequentialPlan, 'mostTrials'>): SequentialLines {
  if (!(guessRate > 0 && heardRate < 1 && guessRate < heardRate)) throw new RangeError(`rates: expected 0 < guessRate < heardRate < 1, got ${guessRate} and ${heardRate}`);
  if (!(falseAlarm > 0 && miss > 0 && falseAlarm + miss < 1)) throw new RangeError(`errors: expected two positive chances with a sum below 1, got ${falseAlarm} and ${miss}`);
  const denominator = log((heardRate * (1 - guessRate)) / (guessRate * (1 - heardRate)));
  return {
    slope: log((1 - guessRate) / (1 - heardRate)) / denominator,
    upperIntercept: log((1 - miss) / falseAlarm) / denominator,
    lowerIntercept: -log((1 - falseAlarm) / miss) / denominator,
  };
}

/** What the plan says after so many trials. */
export function sequentialVerdict(plan: SequentialPlan, hits: number, trials: number): SequentialVerdict {
  return verdictBy(sequentialLines(plan), plan.mostTrials, hits, trials);
}

function verdictBy({ slope, upperIntercept, lowerIntercept }: SequentialLines, mostTrials: number, hits: number, trials: number): SequentialVerdict {
  const above = hits - slope * trials;
  if (above >= upperIntercept) return 'heard';
  if (above <= lowerIntercept) return 'guessed';
  if (trials < mostTrials) return 'go on';
  return above > (upperIntercept + lowerIntercept) / 2 ? 'heard' : 'guessed';
}

export interface SequentialCharacteristics {
  /** Chance that the plan ends with "heard" at this true rate. */
  readonly heard: number;
  readonly meanTrials: number;
}

/** Throws RangeError for rates, errors or an end that make no test. */
export function requireSequentialPlan(plan: SequentialPlan): SequentialLines {
  if (!Number.isInteger(plan.mostTrials) || plan.mostTrials < 1 || plan.mostTrials > 2000) throw new RangeError(`mostTrials: expected a whole number from 1 to 2000, got ${plan.mostTrials}`);
  return sequentialLines(plan);
}

/** Exact, by following the chance of every count from trial to trial. Throws RangeError. */
export function sequentialCharacteristics(plan: SequentialPlan, trueRate: number): SequentialCharacteristics {
  const lines = requireSequentialPlan(plan);
  if (!(trueRate >= 0 && trueRate <= 1)) throw new RangeError(`trueRate: expected a probability from 0 to 1, got ${trueRate}`);
  let running = new Float64Array(plan.mostTrials + 2);
  running[0] = 1;
  let heard = 0;
  let meanTrials = 0;
  for (let trials = 1; trials <= plan.mostTrials; trials += 1) {
    const next = new Float64Array(plan.mostTrials + 2);
    for (let hits = 0; hits <= trials; hits += 1) {
      const chance = running[hits]! * (1 - trueRate) + (hits > 0 ? running[hits - 1]! * trueRate : 0);
      if (chance === 0) continue;
      const verdict = verdictBy(lines, plan.mostTrials, hits, trials);
      if (verdict === 'go on') next[hits] = chance;
      else {
        meanTrials += chance * trials;
        if (verdict === 'heard') heard += chance;
      }
    }
    running = next;
  }
  return { heard, meanTrials };
}
