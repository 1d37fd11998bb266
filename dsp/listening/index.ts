/** Equal loudness for in and out of circuit, and what a listener's ears are given. */
export { kWeighting, type KWeighting, type SecondOrderSection } from './k-weighting.ts';
export { AFilter, aPolesHz, aWeighting, type FirstOrderSection } from './a-weighting.ts';
export { frontWeight, LoudnessMeter, surroundWeight } from './loudness.ts';
export { TruePeakMeter } from './true-peak.ts';
export { measureLoudness, type Loudness } from './measure-loudness.ts';
export { largestMatchGainDb, largestResidualDb, LevelMatcher, type CannotMatchReason, type LevelMatchResult } from './level-match.ts';
export { exposurePascalSquaredHours, occupationalDailyMinutes, weeklyHours, weeklyReference, weeklyShare } from './exposure.ts';
export { dailyShare, playedLevelDba, rollingWeekShare, withExposure, type DayExposure, type PlaybackCalibration } from './exposure-account.ts';
export { chanceOfAtLeast, chanceOfAtMost, hitRateInterval, hitsNeeded, mostTrials, powerOf, signTestPower, twoSidedChance } from './binomial.ts';
export {
  requireSequentialPlan, sequentialCharacteristics, sequentialLines, sequentialVerdict, type SequentialCharacteristics, type SequentialLines, type SequentialPlan, type SequentialVerdict,
} from './sequential-test.ts';
export { mostExcerpts, requireBlindPlan, type BlindAnswer, type BlindLength, type BlindPlan, type BlindToken, type BlindTrial, type Side } from './blind-plan.ts';
export { BlindSession, type AnsweredTrial, type BlindProgress, type BlindReply } from './blind-session.ts';
export { oneGain, type OneGain } from './one-gain.ts';
export { blindResult, statedRates, type BlindResult, type IdentifyResult, type Interval, type PreferResult } from './blind-result.ts';
export { leastSignFlipP, mostPairs, signFlipTest, type SignFlipResult } from './sign-flip-test.ts';
export {
  highestRating, longQuestions, lowestRating, requireLongPlan, requireSittingLog, sittingSides, type LongPlan, type LongQuestion, type SittingLog,
} from './long-listening.ts';
export { longPlanWords, longResult, type LongResult, type RatedResult, type ToldApartResult } from './long-result.ts';
