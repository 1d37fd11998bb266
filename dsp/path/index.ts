// Public door: what a path is, and the quantities its values are written in.
export * from './contract.ts';
export * from './e-series.ts';
export * from './parse-quantity.ts';
export * from './travel.ts';
export * from './units.ts';
export { surroundings } from './surroundings/index.ts';
export { supply } from './supply/index.ts';
export type { PathPlan, PlannedProgram, PlannedStage } from './plan.ts';
export { PathError, planPath, type PlanOptions } from './plan-path.ts';
export { fadeFrames, fadeSeconds } from './fade.ts';
export type { PathCounters } from './stage-chain.ts';
export type { MatchGains } from './trial-mix.ts';
export { landingFrames, PathRunner } from './path-runner.ts';
export { PathRenderer, renderInSteps, type Emit, type PathEvent, type RenderOptions } from './path-renderer.ts';
export { LoopPlayer, type RegionFrames } from './loop-player.ts';
export { kernelModules, staticModules, type CodeModule } from './code-modules.ts';
