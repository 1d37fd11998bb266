// What a path adds to a loop that goes round.
export { addedByPath, addedByPathInSteps, growingStage, linearParts, type AddedByPath, type AddedOptions, type LinearPart } from './added-by-path.ts';
export { playRound, roundFrames, type PlayedRound } from './play-round.ts';
export { welchInSteps, type WelchLines } from './welch.ts';
export { loopAddedInSteps, loudestMoments, type AddedBand, type AddedMoment, type LoopAdded, type LoopAddedRequest } from './loop-added.ts';
