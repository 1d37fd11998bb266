// Between the base rate and the internal rate.
export { designLadder } from './ladder-design.ts';
export type { LadderDesign, LadderFactor, LadderKind, LadderStage } from './ladder-design.ts';
export { Upsampler } from './upsampler.ts';
export { Downsampler } from './downsampler.ts';
export type { LadderHome } from './ladder-work.ts';
export { emitLadder, ladderModuleKey } from './emit/ladder-code.ts';
