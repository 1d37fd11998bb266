/** Equal loudness for in and out of circuit, and what a listener's ears are given. */
export { kWeighting, type KWeighting, type SecondOrderSection } from './k-weighting.ts';
export { frontWeight, LoudnessMeter, surroundWeight } from './loudness.ts';
export { TruePeakMeter } from './true-peak.ts';
export { measureLoudness, type Loudness } from './measure-loudness.ts';
export { largestMatchGainDb, largestResidualDb, LevelMatcher, type CannotMatchReason, type LevelMatchResult } from './level-match.ts';
export { exposurePascalSquaredHours, occupationalDailyMinutes, weeklyHours, weeklyReference, weeklyShare } from './exposure.ts';
export { chanceOfAtLeast, chanceOfAtMost, hitRateInterval, hitsNeeded, mostTrials, powerOf, twoSidedChance } from './binomial.ts';
export {
  sequentialCharacteristics, sequentialLines, sequentialVerdict, type SequentialCharacteristics, type SequentialLines, type SequentialPlan, type SequentialVerdict,
} from './sequential-test.ts';
