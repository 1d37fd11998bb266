/** A compiled kernel as an instance runner: its numbers in the memory of a path, its code instantiated there. One channel runs as two alike. */
import { encodeModule, vectorLanes } from '../../webassembly/index.ts';
import type { Arena, Exports } from '../../webassembly/index.ts';
import { ChannelMemory } from '../channel-memory.ts';
import { coreHeadLength, coreHistoryLength, coreStackLength, startCore } from '../core-law.ts';
import type { InstanceHome } from '../instance-home.ts';
import type { InstanceRunner } from '../instance-runner.ts';
import type { CircuitProgram } from '../program.ts';
import { createSolverReport } from '../solver-report.ts';
import type { SolverReport } from '../solver-report.ts';
import { firstControls } from '../ports.ts';
import { kernelCode } from './kernel-code.ts';
import { kernelStructure } from './kernel-structure.ts';
import { memoryLayout, pooledConstants } from './memory-layout.ts';
import type { MemoryLayout } from './memory-layout.ts';

/** Frames copied at a time from arrays that the code cannot reach. */
const scratchFrames = 256;
const lanes = 2;
const missSections = ['missed', 'missedBefore', 'expectedMiss'] as const;

/** Name of the module of a topology. */
export const kernelKey = (program: CircuitProgram): string => `circuit kernel ${program.topologyKey}`;

export function kernelBytes(program: CircuitProgram): Uint8Array<ArrayBuffer> {
  return encodeModule(kernelCode(kernelStructure(program), vectorLanes));
}

/** Room in an arena. */
export function kernelInstanceBytes(program: CircuitProgram): number {
  return memoryLayout(kernelStructure(program), vectorLanes.bytes).bytes + 8 * lanes * scratchFrames;
}

/** All but `create`: audio thread, allocates nothing, never throws. */
export class KernelInstance implements InstanceRunner {
  readonly program: CircuitProgram;
  readonly channels: number;
  readonly report: SolverReport;
  private readonly layout: MemoryLayout;
  private readonly exports: Exports;
  private readonly arena: Arena;
  private readonly base: number;
  /** The whole memory of the instance as float64s; index of a section is its offset / 8. */
  private readonly numbers: Float64Array;
  private readonly scratch: readonly [Float64Array, Float64Array];
  private readonly saved: Float64Array;
  private readonly firsts: Int32Array;
  /** Of one core, on its way in. */
  private readonly history = new Float64Array(coreHistoryLength);

  /** Null where the code or the room cannot be had. Not for the audio callback. */
  static create(program: CircuitProgram, instanceIndex: number, channels: number, tolerance: number, { memory, arena }: InstanceHome): KernelInstance | null {
    if (channels < 1 || channels > lanes || arena.freeBytes < kernelInstanceBytes(program)) return null;
    const exports = memory.code(kernelKey(program), () => kernelBytes(program));
    return exports === null ? null : new KernelInstance(program, instanceIndex, channels, tolerance, arena, exports);
  }

  private constructor(program: CircuitProgram, instanceIndex: number, channels: number, tolerance: number, arena: Arena, exports: Exports) {
    this.program = program;
    this.channels = channels;
    this.arena = arena;
    this.exports = exports;
    this.layout = memoryLayout(kernelStructure(program), vectorLanes.bytes);
    this.numbers = arena.floats(this.layout.bytes / 8);
    this.base = this.numbers.byteOffset;
    this.scratch = [arena.floats(scratchFrames), arena.floats(scratchFrames)];
    this.saved = new Float64Array(this.layout.lastingCount);
    this.firsts = firstControls(program.topology);
    const { lane } = this.layout;
    const counter = (offset: number): Float64Array => this.numbers.subarray(offset / 8, offset / 8 + channels);
    this.report = {
      samples: counter(lane.samples), evaluations: counter(lane.evaluations), rescues: counter(lane.rescues), capHits: counter(lane.capHits),
      nonFinite: counter(lane.nonFinite), maximumEvaluations: counter(lane.maximumEvaluations),
    };
    this.writeShared(new ChannelMemory(program, createSolverReport(1), 0, instanceIndex), tolerance);
    this.reset();
  }

  reset(): void {
    const { numbers, layout: { lastingCount, imageCount, shared } } = this;
    const image = shared.restImage / 8;
    for (let k = 0; k < lastingCount; k += 1) {
      const value = k < imageCount ? numbers[image + 2 * k]! : 0;
      numbers[2 * k] = value;
      numbers[2 * k + 1] = value;
    }
  }

  process(channels: readonly Float64Array[], offset: number, frames: number): void {
    const { arena, scratch } = this;
    const left = channels[0]!;
    const right = channels[this.channels - 1]!;
    this.count(frames);
    if (arena.holds(left) && arena.holds(right)) {
      this.run(left.byteOffset + 8 * offset, right.byteOffset + 8 * offset, frames);
      return;
    }
    for (let done = 0; done < frames;) {
      const now = Math.min(frames - done, scratchFrames);
      const from = offset + done;
      for (let n = 0; n < now; n += 1) {
        scratch[0][n] = left[from + n]!;
        scratch[1][n] = right[from + n]!;
      }
      this.run(scratch[0].byteOffset, scratch[1].byteOffset, now);
      for (let n = 0; n < now; n += 1) {
        left[from + n] = scratch[0][n]!;
        right[from + n] = scratch[1][n]!;
      }
      done += now;
    }
  }

  start(channel: number, meanInputVolts: number): void {
    const { numbers, saved, scratch, program: { stateBackwardEuler }, layout: { lane, lastingCount } } = this;
    const other = 1 - channel;
    // The code runs both lanes; what the other one does is undone.
    for (let k = 0; k < lastingCount; k += 1) saved[k] = numbers[2 * k + other]!;
    scratch[0][0] = meanInputVolts;
    scratch[1][0] = meanInputVolts;
    this.run(scratch[0].byteOffset, scratch[1].byteOffset, 1);
    const states = lane.states / 8;
    const previous = lane.previousStates / 8;
    const samples = lane.samples / 8 + channel;
    numbers[samples] = numbers[samples]! + 1;
    for (let k = 0; k < stateBackwardEuler.length; k += 1) {
      const at = states + 2 * k + channel;
      if (stateBackwardEuler[k] === 0) numbers[at] = (numbers[at]! + numbers[previous + 2 * k + channel]!) / 2;
    }
    for (let k = 0; k < lastingCount; k += 1) numbers[2 * k + other] = this.channels === 1 ? numbers[2 * k + channel]! : saved[k]!;
  }

  place(channel: number, states: Float64Array, controlVolts: Float64Array, histories: Float64Array | null = null): void {
    const { numbers, firsts, layout: { lane } } = this;
    for (let side = 0; side < lanes; side += 1) {
      if (this.channels > 1 && side !== channel) continue;
      for (let k = 0; k < states.length; k += 1) {
        numbers[lane.states / 8 + 2 * k + side] = states[k]!;
        numbers[lane.previousStates / 8 + 2 * k + side] = states[k]!;
      }
      for (let k = 0; k < firsts.length; k += 1) {
        numbers[lane.portVolts / 8 + 2 * k + side] = controlVolts[firsts[k]!]!;
        for (let s = 0; s < missSections.length; s += 1) numbers[lane[missSections[s]!] / 8 + 2 * k + side] = 0;
      }
      this.placeCores(side, histories);
      this.exports['settle']!(this.base, this.base + 8 * side);
    }
  }

  private placeCores(side: number, histories: Float64Array | null): void {
    const { numbers, history, program: { coreStates, devices }, layout: { lane } } = this;
    for (let core = 0; core < coreStates.length; core += 1) {
      const z = numbers[lane.states / 8 + 2 * coreStates[core]! + side]!;
      if (histories === null) startCore(devices.parameters, devices.parameterOffsets[devices.cores[core]!]!, history, 0, z);
      else for (let k = 0; k < coreHistoryLength; k += 1) history[k] = histories[core * coreHistoryLength + k]!;
      for (let k = 0; k < coreHistoryLength; k += 1) numbers[this.historyPlace(core, k) + side] = history[k]!;
    }
  }

  /** Where number k of a core's memory lies, for the first lane. */
  private historyPlace(core: number, k: number): number {
    const { lane } = this.layout;
    return k < coreHeadLength ? lane.coreHeads / 8 + 2 * (coreHeadLength * core + k) : lane.coreStacks / 8 + 2 * (coreStackLength * core + k - coreHeadLength);
  }

  readHistories(channel: number, histories: Float64Array): void {
    for (let core = 0; core < this.program.coreStates.length; core += 1) {
      for (let k = 0; k < coreHistoryLength; k += 1) histories[core * coreHistoryLength + k] = this.numbers[this.historyPlace(core, k) + channel]!;
    }
  }

  read(channel: number, states: Float64Array, controlVolts: Float64Array): void {
    const { numbers, layout: { lane } } = this;
    for (let k = 0; k < states.length; k += 1) states[k] = numbers[lane.states / 8 + 2 * k + channel]!;
    for (let k = 0; k < controlVolts.length; k += 1) controlVolts[k] = numbers[lane.volts / 8 + 2 * k + channel]!;
  }

  storedQuantity(channel: number, state: number): number {
    const { numbers, layout: { lane } } = this;
    const z = numbers[lane.states / 8 + 2 * state + channel]!;
    return this.program.stateBackwardEuler[state] === 1 ? z : (z + numbers[lane.previousStates / 8 + 2 * state + channel]!) / 2;
  }

  controlVolts(channel: number, control: number): number {
    return this.numbers[this.layout.lane.volts / 8 + 2 * control + channel]!;
  }

  private run(left: number, right: number, frames: number): void {
    this.exports['run']!(this.base, left, right, frames);
  }

  private count(frames: number): void {
    const at = this.layout.lane.samples / 8;
    this.numbers[at] = this.numbers[at]! + frames;
    this.numbers[at + 1] = this.numbers[at + 1]! + frames;
  }

  /** The program's numbers, and the image of a channel at rest, which a readable channel computes. */
  private writeShared(rest: ChannelMemory, tolerance: number): void {
    const { numbers, layout: { shared }, program } = this;
    const { instance } = rest;
    const { devices } = program;
    const structure = kernelStructure(program);
    const write = (section: keyof MemoryLayout['shared'], values: ArrayLike<number>): void => {
      const at = shared[section] / 8;
      for (let k = 0; k < values.length; k += 1) {
        numbers[at + 2 * k] = values[k]!;
        numbers[at + 2 * k + 1] = values[k]!;
      }
    };
    write('constants', pooledConstants);
    write('tolerance', [tolerance]);
    write('restOutput', [program.restOutputVolts]);
    write('inverseScale', rest.inverseScale);
    write('freeStep', rest.freeStep);
    write('portConstants', instance.portConstants);
    write('portCoefficients', instance.portCoefficients);
    write('feedback', instance.feedbackCoefficients);
    write('updateConstants', instance.updateConstants);
    write('updateCoefficients', instance.updateCoefficients);
    write('controlOffsets', instance.controlOffsets);
    write('parameters', devices.parameters);
    if (program.shift !== null) write('shift', program.shift);
    write('junctionWidth', devices.junctionWidthVolts);
    write('junctionCritical', devices.junctionCriticalVolts);
    write('longestStep', devices.longestStepVolts);
    write('stepGrowth', devices.stepGrowth);
    const { nodal } = rest;
    if (instance.nodal !== null) {
      write('sourceConstants', instance.nodal.sourceConstants);
      write('sourceCoefficients', instance.nodal.sourceCoefficients);
      write('linear', instance.nodal.linearCoefficients);
      write('portHeldVolts', instance.nodal.portHeldVolts);
      write('controlHeldVolts', instance.nodal.controlHeldVolts);
      write('nodalUpdateConstants', instance.nodal.updateConstants);
      write('nodalUpdateCoefficients', instance.nodal.updateCoefficients);
    }
    const factors = nodal?.factors ?? new Float64Array(structure.factorCount);
    if (nodal === null) structure.factorPlaces.forEach((place, at) => { if (place >= 0) factors[place] = rest.factors[at]!; });
    const states = rest.signal.subarray(1, 1 + structure.states);
    write('restImage', [
      ...states, ...rest.previousStates, ...rest.portVolts, ...(structure.merged ? rest.volts : []), ...rest.currents, ...rest.jacobian, ...factors, ...(nodal?.inverses ?? rest.inverses), ...(nodal?.excess ?? []),
      rest.factored ? 1 : 0, ...rest.missed, ...rest.missedBefore, ...rest.expectedMiss, ...headsOf(rest),
    ]);
  }
}

function headsOf({ histories, program: { coreStates } }: ChannelMemory): number[] {
  return Array.from(coreStates, (_, core) => [...histories.subarray(core * coreHistoryLength, core * coreHistoryLength + coreHeadLength)]).flat();
}
