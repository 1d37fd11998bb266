// What is measured of a path, and how an order is judged.
export { harshSentence, harshVerdict, judgeOrder, orders, type OrderEntry, type OrderFill, type OrderJudgement } from './orders.ts';
export {
  attribute, cancellations, decibelsOf, degreesOf, runWithout, vectorsOf, type Attribution, type Cancellation, type HarmonicVectors, type Replacement, type RunWithout, type WholeRun,
} from './attribution.ts';
export { weightedByHalfOrder, weightedByOrderSquared, type HarmonicRatio } from './weighting.ts';
export { stageHarmonics, steadyPath, steadyStage, type SteadyMemory, type SteadyStage } from './steady-path.ts';
export {
  floorDb, measurePath, measurePathInSteps, probePeakVolts, shownOrders, type JointLevel, type PathHarmonics, type PathMeasurement, type PathOscillation, type PathProbe,
} from './measure-path.ts';
export { directResponse, exactCircuitResponse, pathResponse, points, type ResponsePoint } from './path-response.ts';
export { interfaceVerdict, type InterfaceFigure, type InterfaceHarmonic, type InterfaceRequest, type InterfaceVerdict } from './interface-verdict.ts';
export { immeasurableDb, jointToleranceDb, probeJoint, probeJoints, type JointMemory, type JointVerdict } from './loading-probe.ts';
export { matchPathInSteps, type MatchRequest, type PathMatch } from './level-match-path.ts';
export { DifferenceMeter, matchDifferences, mostDifferent, signalRangeDb, type BandDifference, type MatchDifferences } from './match-differences.ts';
export { compareLineDriving, lineDrivingGainDb, lineDrivingWays, type CurrentLimit, type LineDriving, type LineDrivingRequest, type LineDrivingWay } from './line-driving.ts';
export { loopSpectrumInSteps, type LoopSpectrum, type SpectrumBand } from './spectrum.ts';
export { SpectrumMeter, type SpectrumSettings } from './spectrum-meter.ts';
export { spectrumPoints, type SpectrumPoints } from './spectrum-points.ts';
export { trialHarmonicsInSteps, type TrialHarmonics, type TrialHarmonicsRequest } from './trial-harmonics.ts';
export { measureThroughLadder, type ThroughLadder } from './through-ladder.ts';
export { dynamicRangeDb, noiseReadings, pathNoise, shareInWords, type CircuitStageNoise, type PathNoise, type StageNoise } from './noise-path.ts';
export { harmonicsUnderNoise, markUnderNoise, noiseAnalysisHz, type MarkedHarmonic, type OutputDensity } from './noise-harmonics.ts';
export { pathSupply, supplyHz, supplyReadings, supplyRemark, type PathSupply, type RailCoupling, type RailRejection, type StageSupply } from './supply-path.ts';
export { pathHeadroom, type ClipMemory, type HeadroomOptions, type PathHeadroom, type RailMargin, type StageHeadroom } from './headroom-path.ts';
export { burstFrames, longestDelaySeconds, loopbackProbe, probeFrames, type LoopbackProbe } from './loopback-probe.ts';
export { findLoopbackDelay, type LoopbackFinding } from './loopback-delay.ts';
