/** Circuit document → program. Off the audio thread; typically a few milliseconds. */
import { SeededRandom } from '../math/index.ts';
import { assembleCircuit } from './assemble.ts';
import type { CircuitDocument } from './components.ts';
import { evaluateDevices } from './devices.ts';
import { CircuitError } from './document-errors.ts';
import { unpackJacobian } from './linearise.ts';
import { findOperatingPoint } from './operating-point.ts';
import type { OperatingPoint } from './operating-point.ts';
import { findPorts, mergeControls } from './ports.ts';
import type { PortMap } from './ports.ts';
import { chooseRule } from './integration-rule.ts';
import { chooseNodal, portFormCost, usualNodalChoice } from './nodal-form.ts';
import type { NodalChoice, NodalStep } from './nodal-form.ts';
import { ruleFor, rulesOf, subStepsOfRule } from './program.ts';
import type { CircuitProgram, Grade, IntegrationRule, ProgramOperatingPoint, RuleChoice } from './program.ts';
import { reduce } from './reduce.ts';
import type { RedundantRow } from './singularity.ts';
import type { ReducedCircuit } from './reduce.ts';
import { chooseBackwardEuler } from './stiff-capacitors.ts';
import type { CircuitSystem } from './system.ts';
import { buildTopology, eliminationOrder, findPattern, gatherInstance, randomValues } from './topology.ts';

/** Peak of a sine at +4 dBu, volts: √2 · 0.7746 V · 10^(4/20). */
export const lineLevelPeakVolts = 1.7362;

/** Seeds of the two pseudo-random assemblies that show the structure. */
const structureSeeds = [20261125, 20261126];
/** Below this smallest pivot of the scaled matrix the devices' own conductances are put into it. */
const illConditionedPivot = 1e-10;

export interface ProgramOptions {
  /** Internal rate. */
  readonly rateHz: number;
  /** Peak input at nominal level: besides rest, the bias points at which stiff capacitors are judged. Default: +4 dBu. */
  readonly nominalPeakVolts?: number;
  /** T1, T12 or T24, or the grade that is to choose one of them. Default: T1. */
  readonly rule?: IntegrationRule | Grade;
}

/** Which controls share a port, from pseudo-random assemblies of a circuit. */
type PortChoice = (samples: readonly ReducedCircuit[]) => PortMap;

/** Throws `CircuitError` for a circuit that is unsound, and a `RangeError` for a rate that is none. */
export function buildProgram(document: CircuitDocument, options: ProgramOptions): CircuitProgram {
  return buildProgramWithPorts(document, options, findPorts);
}

/** `choosePorts`: instead of the ports that the structure shows; `nodalChoice`: instead of where the nodal form usually pays. */
export function buildProgramWithPorts(document: CircuitDocument, options: ProgramOptions, choosePorts: PortChoice, nodalChoice: NodalChoice = usualNodalChoice): CircuitProgram {
  const { rule = 'T1', nominalPeakVolts = lineLevelPeakVolts } = options;
  if (rule !== 'listening' && rule !== 'measuring') return withRule(buildInstances(document, options, choosePorts, rule, nodalChoice), rule, null);
  const family = buildInstances(document, options, choosePorts, 'all', nodalChoice);
  const chosen = chooseRule(family, rule, nominalPeakVolts);
  return withRule(family, chosen.rule, chosen.choice);
}

/** Instances of every rule. */
const stepsOfFamily = [1, 2, 4] as const;

/**
 * A program with an instance for each step that any rule takes, h, h/2 and h/4, from which `withRule` makes programs. It is not one to be played: its
 * own `rule` says nothing. Throws as `buildProgram`; `options.rule` is passed over.
 */
export function buildProgramFamily(document: CircuitDocument, options: ProgramOptions): CircuitProgram {
  return buildInstances(document, options, findPorts, 'all', usualNodalChoice);
}

/**
 * The program of one rule from a family, or from any program that has the instances. A circuit with cores takes plain steps in place of pairs of runs, as far down, and the other way round. Throws a
 * RangeError where the instances are missing.
 */
export function withRule(family: CircuitProgram, wanted: IntegrationRule, ruleChoice: RuleChoice | null = null): CircuitProgram {
  const rule = ruleFor(family, wanted);
  const instances = subStepsOfRule[rule].map((steps) => {
    const instance = family.instances.find(({ subSteps }) => subSteps === steps);
    if (instance !== undefined) return instance;
    const got = family.instances.map(({ subSteps }) => subSteps).join(', ');
    throw new RangeError(`"${family.title}", ${rule}: expected an instance with ${steps} steps a sample, got ${got}`);
  });
  return { ...family, rule, ruleChoice, instances };
}

/** Everything but the numbers of the instances is decided at the program's own step. */
function buildInstances(
  document: CircuitDocument, options: ProgramOptions, choosePorts: PortChoice, rule: IntegrationRule | 'all', nodalChoice: NodalChoice,
): CircuitProgram {
  const { rateHz, nominalPeakVolts = lineLevelPeakVolts } = options;
  if (!(rateHz > 0 && rateHz < Infinity)) throw new RangeError(`rateHz: expected a positive number of hertz, got ${rateHz}`);
  const system = assembleCircuit(document);
  const { devices, states, coreStates } = system;
  const steps = rule === 'all' ? stepsOfFamily : subStepsOfRule[ruleFor(system, rule)];
  const point = findOperatingPoint(system);
  const stepSeconds = 1 / rateHz;
  const redundant = point.redundantRows.filter((row) => !row.hasInductor);
  const trapezoidal = new Uint8Array(states.length);
  const structures = structureSeeds.map((seed) => randomStructure(document, seed, redundant));

  // A node that only device currents touch makes the matrix singular although the circuit is sound.
  const shifted = structures.some(({ build }) => build(trapezoidal, false).smallestPivot < illConditionedPivot)
    || reduce(system, { stepSeconds, backwardEuler: trapezoidal, shift: null, redundant }).smallestPivot < illConditionedPivot;
  const shift = shifted ? point.jacobian : null;

  const build = (backwardEuler: Uint8Array): ReducedCircuit => reduce(system, { stepSeconds, backwardEuler, shift, redundant });
  const stiff = chooseBackwardEuler(build, jacobiansAtBiases(system, point, nominalPeakVolts, shift), states, stepSeconds);
  const reducedAt = (step: number): ReducedCircuit => {
    const reduced = reduce(system, { stepSeconds: step, backwardEuler: stiff.flags, shift, redundant });
    if (!(reduced.smallestPivot > 0)) throw new CircuitError(`"${system.title}": no unique solution of one step of ${step} s`);
    return reduced;
  };
  const reduced = reducedAt(stepSeconds);

  const samples = structures.map((structure) => structure.build(stiff.flags, shifted));
  const ports = choosePorts(samples);
  const merged = mergeControls(reduced, ports);
  const pattern = findPattern(samples.map((sample) => mergeControls(sample, ports).equations));
  const order = eliminationOrder(merged.equations, ports, unpackJacobian(devices, orderingJacobian(system, point, shift)));
  const stepOf = (seconds: number): NodalStep => ({ stepSeconds: seconds, backwardEuler: stiff.flags, redundant });
  const nodal = shifted ? null : chooseNodal(
    system, structures.map(({ system: sampled }) => ({ system: sampled, step: stepOf(1) })), stepOf(stepSeconds), ports, point.jacobian,
    portFormCost(pattern.portRows, pattern.feedbackRows, pattern.updateRows, ports.portCount, devices), nodalChoice,
  );
  const topology = buildTopology(ports, pattern, order, devices, shifted, nodal?.topology ?? null);
  const instances = steps.map((subSteps) => {
    const step = stepSeconds / subSteps;
    return { ...gatherInstance(subSteps === 1 ? merged : mergeControls(reducedAt(step), ports), pattern, step), subSteps, nodal: nodal?.gather(stepOf(step)) ?? null };
  });
  const operatingPoint = describe(system, point);
  return {
    title: system.title,
    rateHz,
    rule: rulesOf(system)[0],
    ruleChoice: null,
    topology,
    topologyKey: topology.key,
    instances,
    devices,
    shift,
    stateNames: states.map((state) => state.name),
    stateUnits: Float64Array.from(states, (state) => state.unit),
    coreStates,
    stateBackwardEuler: stiff.flags,
    controlNames: controlNames(system),
    restOutputVolts: point.outputVolts + 0,
    operatingPoint,
    backwardEuler: stiff.choices,
  };
}

/** The wiring with pseudo-random values, to be reduced with any flags, with or without a pseudo-random linear part of the devices. */
function randomStructure(
  document: CircuitDocument, seed: number, redundant: readonly RedundantRow[],
): { readonly system: CircuitSystem; readonly build: (backwardEuler: Uint8Array, shifted: boolean) => ReducedCircuit } {
  const random = new SeededRandom(seed);
  const system = assembleCircuit(randomValues(document, random));
  const conductances = new Float64Array(system.devices.jacobianOffsets[system.devices.count]!);
  for (let k = 0; k < conductances.length; k += 1) conductances[k] = 0.5 + 1.5 * random.nextUnit();
  return { system, build: (backwardEuler, shifted) => reduce(system, { stepSeconds: 1, backwardEuler, shift: shifted ? conductances : null, redundant }) };
}

/** Dense Jacobians at rest and at plus and minus the nominal peak held as direct current; a bias that has no operating point is left out. */
function jacobiansAtBiases(system: CircuitSystem, rest: OperatingPoint, peakVolts: number, shift: Float64Array | null): Float64Array[] {
  const packed = [rest.jacobian];
  if (system.states.length > 0) {
    for (const inputVolts of [peakVolts, -peakVolts]) {
      try {
        packed.push(findOperatingPoint(system, inputVolts).jacobian);
      } catch (error) {
        if (!(error instanceof CircuitError)) throw error;
      }
    }
  }
  return packed.map((jacobian) => unpackJacobian(system.devices, withoutShift(jacobian, shift)));
}

function withoutShift(jacobian: Float64Array, shift: Float64Array | null): Float64Array {
  return shift === null ? jacobian : jacobian.map((value, k) => value - shift[k]!);
}

/** At rest, or, where I − K J is the identity there, with every control one scale further on. */
function orderingJacobian(system: CircuitSystem, rest: OperatingPoint, shift: Float64Array | null): Float64Array {
  if (shift === null) return rest.jacobian;
  const { devices } = system;
  const driven = rest.controls.map((volts, k) => volts + devices.scaleVolts[k]!);
  const jacobian = new Float64Array(rest.jacobian.length);
  evaluateDevices(devices, driven, new Float64Array(devices.currentCount), jacobian);
  return withoutShift(jacobian, shift);
}

function describe(system: CircuitSystem, point: OperatingPoint): ProgramOperatingPoint {
  const at = (row: number): number => (row < 0 ? 0 : point.w[row]!);
  return {
    nodeVolts: Object.fromEntries(system.nodeNames.map((name, row) => [name, at(row)])),
    currents: point.currents,
    controlVolts: point.controls,
    stored: Float64Array.from(system.states, (_, k) => at(system.stateRows[2 * k]!) - at(system.stateRows[2 * k + 1]!)),
  };
}

function controlNames(system: CircuitSystem): string[] {
  const { devices } = system;
  const names: string[] = [];
  for (let d = 0; d < devices.count; d += 1) {
    for (let c = devices.controlOffsets[d]!; c < devices.controlOffsets[d + 1]!; c += 1) names.push(`${devices.names[d]!} ${devices.controlNames[c]!}`);
  }
  return names;
}
