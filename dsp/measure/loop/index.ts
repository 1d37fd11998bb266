// What a path adds to a loop that goes round.
export { addedByPath, growingStage, type LinearPart } from './added-by-path.ts';
export { addedOnTrialInSteps, type AddedOnTrial } from './added-on-trial.ts';
export { differenceRaiseInSteps, leastAddedDb, type DifferenceRaise } from './difference-raise.ts';
export { playBothWays, type BothWays } from './both-ways.ts';
export { playRound } from './play-round.ts';
export { loopAddedInSteps, loudestMoments, type AddedBand, type AddedMoment, type LoopAdded } from './loop-added.ts';
