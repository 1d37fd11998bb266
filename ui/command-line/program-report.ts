/** Each step from a component list to machine code, as plain data: what `program` prints. */
import {
  assembleCircuit, createInstance, findOperatingPoint, instanceBytes, kernelCode, kernelStructure, listeningTolerance, memoryLayout, traceSamples,
} from '../../dsp/circuit/index.ts';
import type { CircuitDocument, CircuitProgram, CircuitSystem, Discretisation, MemoryLayout, OperatingPoint, SparseRows, TracedSample } from '../../dsp/circuit/index.ts';
import { createCodeMemory, encodeModule, functionBytes, functionText, moduleText, vectorLanes } from '../../dsp/webassembly/index.ts';

/** Coefficient and what it multiplies; a constant has no name. */
export type Term = readonly [coefficient: number, name: string];

/** Sum of the left terms = sum of the right ones. */
export interface Equation {
  readonly of: string;
  readonly left: readonly Term[];
  readonly right: readonly Term[];
}

export interface ProgramReport {
  readonly title: string;
  readonly rateHz: number;
  readonly temperatureC: number;
  /** Node voltages, then branch currents. */
  readonly unknowns: readonly string[];
  /** Of the circuit itself: ′ is the rate of change. */
  readonly equations: readonly Equation[];
  readonly currents: readonly { readonly name: string; readonly device: string; readonly from: string; readonly to: string; readonly sign: number }[];
  readonly controls: readonly { readonly name: string; readonly control: string; readonly plus: string; readonly minus: string; readonly of: string; readonly unit: string; readonly sign: number; readonly port: string; readonly portSign: number; readonly offsetVolts: number }[];
  readonly states: readonly { readonly name: string; readonly of: string; readonly kind: string; readonly backwardEuler: boolean; readonly restValue: number }[];
  readonly operatingPoint: { readonly unknowns: readonly number[]; readonly controlVolts: readonly number[]; readonly currents: readonly number[]; readonly iterations: number; readonly outputVolts: number };
  /** `S w = s0 + su·u + Sz z + Si i` of one step, rows in the order of the unknowns. */
  readonly stamped: { readonly stepSeconds: number; readonly matrix: number[][]; readonly constant: number[]; readonly input: number[]; readonly memory: number[][]; readonly current: number[][] };
  readonly backwardEuler: CircuitProgram['backwardEuler'];
  /** Whether part of the devices' conductance stands in the matrices. */
  readonly shifted: boolean;
  readonly portCount: number;
  readonly instances: readonly { readonly subSteps: number; readonly stepSeconds: number; readonly portRows: readonly Equation[]; readonly feedbackRows: readonly Equation[]; readonly updateRows: readonly Equation[] }[];
  /** Ports, in the order in which their rows are eliminated. */
  readonly eliminationOrder: readonly string[];
  /** Whether the running solve goes over the ports or, because that takes fewer products, over the nodes that devices touch; and then how many unknowns and entries of factors there are. */
  readonly solve: { readonly over: 'ports' | 'nodes'; readonly unknowns: number; readonly factorEntries: number };
  readonly rule: CircuitProgram['rule'];
  readonly ruleChoice: CircuitProgram['ruleChoice'];
  readonly sample: TracedSample & { readonly toleranceOfScale: number; readonly sameBitsCompiled: boolean | null };
  readonly kernel: {
    readonly bytes: number;
    readonly functions: readonly { readonly name: string; readonly bytes: number }[];
    readonly memoryBytes: number;
    readonly memory: readonly MemorySection[];
    readonly run: string;
    readonly text: string;
  };
}

export interface MemorySection {
  readonly section: string;
  readonly offset: number;
  readonly numbers: number;
  /** A number of its own for each channel; one number, once a channel; or scratch of one channel at a time. */
  readonly holds: 'each' | 'alike' | 'scratch';
}

/** `program` is that of `document`; the sample goes from rest to `inputVolts` in one step. */
export function explainProgram(document: CircuitDocument, program: CircuitProgram, inputVolts: number): ProgramReport {
  const system = assembleCircuit(document);
  const point = findOperatingPoint(system);
  const { devices } = system;
  const branchNames = system.branchNames.map((name, k, all) => (all.indexOf(name) === all.lastIndexOf(name) ? name : `${name} ${all.slice(0, k + 1).filter((other) => other === name).length}`));
  const fluxRows = new Set(Array.from(system.coreStates, (state) => system.stateRows[2 * state]!));
  const unknowns = [...system.nodeNames.map((name) => `v(${name})`), ...branchNames.map((name, k) => `${fluxRows.has(system.nodeNames.length + k) ? 'λ' : 'j'}(${name})`)];
  const nodeName = (row: number): string => (row < 0 ? 'ground' : system.nodeNames[row]!);
  const controlOf = (k: number): { plus: string; minus: string; of: string; unit: string } => {
    const [plus, minus] = [system.controlRows[2 * k]!, system.controlRows[2 * k + 1]!];
    if (fluxRows.has(plus)) return { plus: unknowns[plus]!, minus: 'ground', of: unknowns[plus]!, unit: 'V s' };
    return { plus: nodeName(plus), minus: nodeName(minus), of: `v(${nodeName(plus)}) - v(${nodeName(minus)})`, unit: 'V' };
  };
  const ownerOf = (offsets: Int32Array, k: number): string => devices.names[Array.from({ length: devices.count }, (_, d) => d).find((d) => k < offsets[d + 1]!)!]!;
  const { controlPorts, controlSigns } = program.topology;
  const sample = traceSamples(program, 0, [inputVolts], listeningTolerance)[0]!;
  return {
    title: document.title,
    rateHz: program.rateHz,
    temperatureC: document.temperatureC,
    unknowns,
    equations: equationsOf(system, unknowns, [...system.nodeNames.map((name) => `node ${name}`), ...branchNames.map((name) => `branch ${name}`)]),
    currents: Array.from({ length: devices.currentCount }, (_, r) => ({
      name: `i${r + 1}`, device: ownerOf(devices.currentOffsets, r),
      from: nodeName(system.currentRows[2 * r]!), to: nodeName(system.currentRows[2 * r + 1]!), sign: system.currentSigns[r]!,
    })),
    controls: program.controlNames.map((control, k) => ({
      name: `v${k + 1}`, control, ...controlOf(k), sign: system.controlSigns[k]!,
      port: `x${controlPorts[k]! + 1}`, portSign: controlSigns[k]!, offsetVolts: program.instances[0]!.controlOffsets[k]!,
    })),
    states: system.states.map(({ name, kind }, k) => ({
      name: `z${k + 1}`, of: name, kind, backwardEuler: program.stateBackwardEuler[k] === 1, restValue: program.operatingPoint.stored[k]!,
    })),
    operatingPoint: pointOf(point),
    stamped: stampedOf(system, program),
    backwardEuler: program.backwardEuler,
    shifted: program.topology.shifted,
    portCount: program.topology.portCount,
    instances: program.instances.map((_, index) => rowsOf(program, index)),
    eliminationOrder: Array.from(program.topology.eliminationOrder, (port) => `x${port + 1}`),
    solve: solveOf(program),
    rule: program.rule,
    ruleChoice: program.ruleChoice,
    sample: { ...sample, toleranceOfScale: listeningTolerance, sameBitsCompiled: compiledAgrees(program, sample) },
    kernel: kernelOf(program),
  };
}

function solveOf({ topology: { portCount, nodal } }: CircuitProgram): ProgramReport['solve'] {
  if (nodal !== null) return { over: 'nodes', unknowns: nodal.size, factorEntries: nodal.matrixRows.columns.length };
  return { over: 'ports', unknowns: portCount, factorEntries: portCount * portCount };
}

/** `(S + s E) w = s0 + su·u + Si i`, row by row. */
function equationsOf(system: CircuitSystem, unknowns: readonly string[], rowNames: readonly string[]): Equation[] {
  const { size, devices } = system;
  const direct = system.stamp({ kind: 'direct-current' });
  const storage = system.stampStorage();
  return unknowns.map((_, row) => ({
    of: rowNames[row]!,
    left: unknowns.flatMap((name, c): Term[] => present([[direct.matrix[row * size + c]!, name], [storage[row * size + c]!, `${name}′`]])),
    right: present([
      [direct.constant[row]!, ''], [direct.input[row]!, 'u'],
      ...Array.from({ length: devices.currentCount }, (_, r): Term => [direct.current[row * devices.currentCount + r]!, `i${r + 1}`]),
    ]),
  }));
}

const present = (terms: readonly Term[]): Term[] => terms.filter(([coefficient]) => coefficient !== 0);

function pointOf({ w, controls, currents, iterations, outputVolts }: OperatingPoint): ProgramReport['operatingPoint'] {
  return { unknowns: [...w], controlVolts: [...controls], currents: [...currents], iterations, outputVolts };
}

function stampedOf(system: CircuitSystem, program: CircuitProgram): ProgramReport['stamped'] {
  const { stepSeconds } = program.instances[0]!;
  const rule: Discretisation = { kind: 'step', stepSeconds, backwardEuler: program.stateBackwardEuler };
  const { matrix, constant, input, memory, current } = system.stamp(rule);
  const rows = (flat: Float64Array): number[][] => Array.from({ length: system.size }, (_, row) => [...flat.subarray((row * flat.length) / system.size, ((row + 1) * flat.length) / system.size)]);
  return { stepSeconds, matrix: rows(matrix), constant: [...constant], input: [...input], memory: rows(memory), current: rows(current) };
}

/** The rows as they are summed: constant, then ascending columns. */
function rowsOf(program: CircuitProgram, index: number): ProgramReport['instances'][number] {
  const { topology } = program;
  const { subSteps, stepSeconds, portConstants, portCoefficients, feedbackCoefficients, updateConstants, updateCoefficients } = program.instances[index]!;
  const n = topology.stateCount;
  const signal = (column: number): string => (column === 0 ? 'u' : column <= n ? `z${column}` : `c${column - n}`);
  const rows = (sparse: SparseRows, constants: Float64Array | null, coefficients: Float64Array, nameOf: (row: number) => string, columnName: (column: number) => string): Equation[] =>
    Array.from({ length: sparse.starts.length - 1 }, (_, row) => ({
      of: nameOf(row),
      left: [[1, nameOf(row)]],
      right: [
        ...(constants === null ? [] : [[constants[row]!, ''] as const]),
        ...Array.from({ length: sparse.starts[row + 1]! - sparse.starts[row]! }, (_, k): Term => [coefficients[sparse.starts[row]! + k]!, columnName(sparse.columns[sparse.starts[row]! + k]!)]),
      ],
    }));
  return {
    subSteps,
    stepSeconds,
    portRows: rows(topology.portRows, portConstants, portCoefficients, (row) => `p${row + 1}`, signal),
    feedbackRows: rows(topology.feedbackRows, null, feedbackCoefficients, (row) => `x${row + 1} - p${row + 1}`, (column) => `i${column + 1}`),
    updateRows: rows(topology.updateRows, updateConstants, updateCoefficients, (row) => (row === n ? 'y' : `z${row + 1}′`), signal),
  };
}

/** The same sample through the kernel; null where none can be had. */
function compiledAgrees(program: CircuitProgram, sample: TracedSample): boolean | null {
  const memory = createCodeMemory(instanceBytes(program) + 64);
  if (memory === null) return null;
  const frames = memory.arena.floats(1);
  frames[0] = sample.inputVolts;
  const instance = createInstance(program, 0, 1, listeningTolerance, { memory, arena: memory.arena });
  instance.process([frames], 0, 1);
  const states = new Float64Array(sample.states.length);
  instance.read(0, states, new Float64Array(program.topology.controlCount));
  return Object.is(frames[0], sample.outputVolts) && sample.states.every((z, k) => Object.is(states[k], z));
}

function kernelOf(program: CircuitProgram): ProgramReport['kernel'] {
  const structure = kernelStructure(program);
  const module = kernelCode(structure, vectorLanes);
  const layout = memoryLayout(structure, vectorLanes.bytes);
  const memory = sectionsOf(layout);
  const nameOf = (offset: number): string | null => {
    const section = memory.findLast((candidate) => candidate.offset <= offset)!;
    const k = (offset - section.offset) / strideOf(section.holds, layout);
    return Number.isInteger(k) && k < section.numbers ? `${section.section} ${k + 1}` : null;
  };
  const sizes = functionBytes(module);
  return {
    bytes: encodeModule(module).length,
    functions: module.functions.map(({ name }, k) => ({ name, bytes: sizes[k]! })),
    memoryBytes: layout.bytes,
    memory,
    run: functionText(module, module.exports['run']!, { nameOf }),
    text: moduleText(module, { nameOf }),
  };
}

function strideOf(holds: MemorySection['holds'], { laneBytes }: MemoryLayout): number {
  return holds === 'scratch' ? 8 : laneBytes;
}

/** In the order of their offsets, without those that hold nothing or lie where another does. */
function sectionsOf(layout: MemoryLayout): MemorySection[] {
  const { lane, shared, scratch, bytes } = layout;
  const every = ([['each', lane], ['alike', shared], ['scratch', scratch]] as const)
    .flatMap(([holds, places]) => Object.entries(places).map(([section, offset]) => ({ section, offset, holds })))
    .filter(({ section }) => section !== 'volts' || lane.volts !== lane.portVolts)
    .sort((a, b) => a.offset - b.offset);
  return every
    .map((one, k) => ({ ...one, numbers: Math.floor(((every[k + 1]?.offset ?? bytes) - one.offset) / strideOf(one.holds, layout)) }))
    .filter(({ numbers }) => numbers > 0);
}
