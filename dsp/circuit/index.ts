// The one door of the circuit core.
export type {
  Amplifier, BipolarTransistor, Capacitor, CircuitDocument, Component, ComponentKind, Core, CoupledInductors, CurrentSource, DeviceComponent, Diode,
  FieldEffectTransistor, ForwardBipolar, ForwardFieldEffect, IdealTransformer, Inductor, NodePair, ProductTransconductor, Resistor, SignalInput, TanhTransconductor, Transconductor, Triode,
  VoltageSource,
} from './components.ts';
export { CircuitError } from './document-errors.ts';
export { absoluteZeroC, circuitFormat, circuitVersion, defaultTemperatureC, groundNode, parseCircuitDocument, writeCircuitDocument } from './document.ts';
export { circuitDocumentSchema } from './document-schema.ts';
export { componentFields, terminalsOf } from './component-fields.ts';
export { buildDeviceTable, evaluateDevices, limitStep, thermalVolts } from './devices.ts';
export { deviceKind } from './system.ts';
export type { CircuitSystem, DeviceTable, Discretisation, StampedEquations, StateElement } from './system.ts';
export { assembleCircuit } from './assemble.ts';
export { findOperatingPoint } from './operating-point.ts';
export type { OperatingPoint } from './operating-point.ts';
export type { Complex } from './exact-response.ts';
export { exactResponse, inputImpedance, outputImpedance } from './exact-response.ts';
export { circuitNoise } from './noise.ts';
export type { CircuitNoise, NoiseContributor, NoiseOptions } from './noise.ts';
export { noiseFigures, noiseReferenceHz, sumOf as noiseOf } from './noise-figures.ts';
export type { FigureOptions, NoiseFigures, NoiseShare } from './noise-figures.ts';
export { audibleBandHz, densityAt, integrateDensity, noiseFrequencies } from './noise-band.ts';
export { railResponses, railsOf } from './noise-rails.ts';
export type { Rail, RailResponse } from './noise-rails.ts';
export { mechanismWords } from './noise-sources.ts';
export type { NoiseMechanism } from './noise-sources.ts';
export { boltzmannJoulesPerKelvin, elementaryCoulombs, flickerCornerHz, flickerCornerSource } from './noise-data.ts';
export { loopGain, loopGainOf, loopProbeName, phaseMargin, withLoopProbe } from './loop-gain.ts';
export { circuitAtRest, linearised, withoutParts } from './remove.ts';
export type { CircuitAtRest } from './remove.ts';
export type { CircuitRemoval, DevicePart, RemovedDevice } from './removal.ts';
export type { LoopCrossing } from './loop-gain.ts';
export { rulesOf, subStepsOfRule } from './program.ts';
export type {
  BackwardEulerChoice, CircuitProgram, Grade, IntegrationRule, ProgramInstance, ProgramOperatingPoint, ProgramTopology, RuleChoice, SparseRows,
} from './program.ts';
export type { InstanceRunner } from './instance-runner.ts';
export { buildProgram, buildProgramFamily, lineLevelPeakVolts, withRule } from './build-program.ts';
export type { ProgramOptions } from './build-program.ts';
export { CircuitRunner, runnerBytes } from './runner.ts';
export type { InstanceHome } from './instance-home.ts';
export { blockLoops } from './sub-steps.ts';
export type { BlockWork } from './sub-steps.ts';
export { compiledBlocks } from './emit/compiled-blocks.ts';
export { blockModuleKey, emitBlocks } from './emit/block-code.ts';
export { kernelBytes, kernelKey } from './emit/kernel-instance.ts';
export type { CarriedBias } from './carry-over.ts';
export { listeningTolerance, measuringTolerance } from './channel-memory.ts';
export type { SolverReport } from './solver-report.ts';
export { chooseFrequency, cosineDrive, cosineTable, projectHarmonics } from './frequency.ts';
export type { CoherentFrequency, HarmonicProjection } from './frequency.ts';
export { solveSteadyState, solveSteadyStateInSteps } from './steady-state.ts';
export { growthAtRest } from './rest-growth.ts';
export type { InstanceSteadyState, PeriodicInput, SteadyState, SteadyStateOptions } from './steady-state.ts';
export { steadyHarmonics } from './steady-harmonics.ts';
export { findClipping } from './clipping-level.ts';
export type { ClippingLook, ClippingSearch } from './clipping-level.ts';
export { chooseRule } from './integration-rule.ts';
export { figuresOfProjection, harmonicFigures, measureCircuit, solverFigures } from './measure-circuit.ts';
export type {
  CircuitMeasurement, HarmonicFigures, MeasuredHarmonic, MeasureOptions, OscillationReport, SolverFigures, SteadyMeasurement,
} from './measure-circuit.ts';
export { denseEquations, discreteResponse, linearStepOf } from './discrete-response.ts';
export type { LinearStep } from './linearise.ts';
// For whoever shows how a program comes about and what a kernel is made of.
export { createInstance, instanceBytes } from './create-instance.ts';
export { traceSamples } from './traced-solver.ts';
export type { TracedPass, TracedSample } from './traced-solver.ts';
export { kernelCode } from './emit/kernel-code.ts';
export { kernelStructure } from './emit/kernel-structure.ts';
export { memoryLayout } from './emit/memory-layout.ts';
export type { MemoryLayout } from './emit/memory-layout.ts';
