// The stages' public door: what a stage is, which there are, and how one runs.
export type {
  CautionName, ChoiceParameter, CircuitStageProgram, CurveMark, CurveTrace, LinearProgram, LoopProbe, Mechanism, NumberParameter, OutputNetwork, Parameter, PolynomialProgram, Quantity, Removal, SheetDefinition, SolverTolerance, StageContext,
  StageCounters, StageCurve, StageDefinition, StageHome, StageProgram, StageReading, StageRemark, StageReport, StageRunner, StageValues,
} from './contract.ts';
export { blockTerminals, drawnComponent, gridPx, symbolTerminals, terminalPoint } from './drawing.ts';
export type { BlockTerminal, Drawing, FreeValue, NodeReading, Placement, Point, SymbolName } from './drawing.ts';
export { stageById, stages } from './registry.ts';
export { defaultValues, resolveValues, StageValueError } from './resolve-values.ts';
export { derivedMechanisms } from './shared/derived-mechanisms.ts';
export { cautions } from './cautions.ts';
export { createStageRunner, stageRunnerBytes } from './create-stage-runner.ts';
export { CircuitStageRunner } from './circuit-stage-runner.ts';
export { openingPath } from './opening.ts';
export type { OpeningStage } from './opening.ts';
export { emitSections, linearTransfer, noteHertz, noteName, partialsWithin, sectionModuleKey, steadyLinear } from './equaliser/index.ts';
export { emitShaping, shapingModuleKey, steadyShaping } from './harmonic-shaping/index.ts';
export { dbuToPeakVolts, lineLevelDbu, peakVoltsToDbu } from './shared/levels.ts';
export { sourceNetwork } from './shared/source-network.ts';
export { formatValue } from './shared/format-value.ts';
export { lineLengthsForPeak, resonantPeak, upperCornerHz } from './shared/line-peak.ts';
export { logarithmicHertz } from './shared/node-responses.ts';
export type { LineLength, ResonantPeak } from './shared/line-peak.ts';
export type { Branch, Ladder, Turns } from './shared/ladder.ts';
export { capacitiveLoadMargin } from './shared/load-margin.ts';
export type { FeedbackAmplifier, LoadMargin } from './shared/load-margin.ts';
/** Makers of a table's entries, for tables that belong to no stage. */
export * as makeParameter from './shared/parameters.ts';
