/**
 * A circuit's kernel as WebAssembly in this process, and the same kernel translated to C++, over the same samples from the same memory: alternating rounds, processor time, and the outputs held against
 * each other bit by bit.
 */
import { execFileSync } from 'node:child_process';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { buildProgram, listeningTolerance } from '../../dsp/circuit/index.ts';
import type { CircuitProgram } from '../../dsp/circuit/index.ts';
import { createInstance, instanceBytes } from '../../dsp/circuit/create-instance.ts';
import { kernelCode } from '../../dsp/circuit/emit/kernel-code.ts';
import { kernelStructure } from '../../dsp/circuit/emit/kernel-structure.ts';
import { memoryLayout } from '../../dsp/circuit/emit/memory-layout.ts';
import { createCodeMemory, scalarLane, vectorLanes } from '../../dsp/webassembly/index.ts';
import { processorNanoseconds } from './clock.ts';
import { internalRateHz } from './circuits.ts';
import type { BenchCircuit } from './circuits.ts';
import { buildProgramOf, nativeOptions, plainOptions } from './cpp/build.ts';
import { translateModule } from './cpp/translate.ts';
import { median } from './median.ts';

const bytes = 65_536;
const blockFrames = 1024;
const folder = 'dist/bench';

export interface KernelTiming {
  /** Nanoseconds of processor time per sample and channel, medians. */
  readonly nsPerSample: number;
  readonly cppO3: number | null;
  readonly cppNativeTwoLane: number | null;
  /** Medians over the rounds of the ratio within one round. */
  readonly ratioToCppO3: number | null;
  readonly ratioToCppNativeTwoLane: number | null;
  readonly evaluationsPerSample: number;
  /** Samples of either channel whose bits differ between WebAssembly and C++. */
  readonly differingSamples: number | null;
}

/** Left, then right: the same frequency, 1 rad apart, the right one a little lower. */
export function twoChannelTone(frames: number, frequencyHz: number, peakVolts: number, rateHz: number = internalRateHz): Float64Array {
  return Float64Array.from({ length: 2 * frames }, (_, k) => {
    const radians = (2 * Math.PI * frequencyHz * (k % frames)) / rateHz;
    return k < frames ? peakVolts * Math.sin(radians) : 0.9 * peakVolts * Math.sin(radians + 1);
  });
}

/** Kernel T1 (with a core S1: the same step) of the circuit at 48 kHz × 8. `compiled`: whether a C++ compiler is there. */
export function timeKernel({ name, document, nominalPeakVolts }: BenchCircuit, frequencyHz: number, peakVolts: number, rounds: number, frames: number, compiled: boolean): KernelTiming {
  const program = buildProgram(document, { rateHz: internalRateHz, nominalPeakVolts, rule: 'T1' });
  const input = twoChannelTone(frames, frequencyHz, peakVolts);
  const ours = new WebAssemblyKernel(program);
  const yardsticks = compiled ? cppKernels(name, program, ours, input) : null;
  const output = new Float64Array(input.length);
  const times: { ours: number; plain: number; native: number }[] = [];
  // The engine's better compiler is done with the code after a while: everything of the first rounds is dropped.
  for (let round = -2; round < rounds; round += 1) {
    const now = { ours: ours.quickest(input, output), plain: yardsticks?.plain.run() ?? NaN, native: yardsticks?.native.run() ?? NaN };
    if (round >= 0) times.push(now);
  }
  const differing = yardsticks === null ? null : differingSamples(output, yardsticks.plain.output()) + differingSamples(output, yardsticks.native.output());
  return {
    nsPerSample: median(times.map((time) => time.ours)),
    cppO3: yardsticks === null ? null : median(times.map(({ plain }) => plain)),
    cppNativeTwoLane: yardsticks === null ? null : median(times.map(({ native }) => native)),
    ratioToCppO3: yardsticks === null ? null : median(times.map((time) => time.ours / time.plain)),
    ratioToCppNativeTwoLane: yardsticks === null ? null : median(times.map((time) => time.ours / time.native)),
    evaluationsPerSample: ours.evaluationsPerSample,
    differingSamples: differing,
  };
}

class WebAssemblyKernel {
  readonly base: number;
  readonly blocks: readonly [Float64Array, Float64Array];
  /** The memory before the first sample. */
  readonly image: Uint8Array;
  private readonly memory: Uint8Array;
  private readonly instance;

  constructor(program: CircuitProgram) {
    const memory = createCodeMemory(bytes - 16);
    if (memory === null || instanceBytes(program) > memory.arena.freeBytes) throw new Error(`${program.title}: expected a compiled kernel in ${bytes} bytes, got none`);
    this.base = memory.arena.floats(0).byteOffset;
    this.instance = createInstance(program, 0, 2, listeningTolerance, { memory, arena: memory.arena });
    this.blocks = [memory.arena.floats(blockFrames), memory.arena.floats(blockFrames)];
    this.memory = new Uint8Array(memory.arena.buffer);
    this.image = this.memory.slice();
  }

  /** Nanoseconds per sample and channel: the quickest of five, as on the other side. */
  quickest(input: Float64Array, output: Float64Array): number {
    return Math.min(...Array.from({ length: 5 }, () => this.run(input, output)));
  }

  /** From the image on. */
  private run(input: Float64Array, output: Float64Array): number {
    const frames = input.length / 2;
    const [left, right] = this.blocks;
    this.memory.set(this.image);
    const start = processorNanoseconds();
    for (let at = 0; at < frames; at += blockFrames) {
      const now = Math.min(blockFrames, frames - at);
      left.set(input.subarray(at, at + now));
      right.set(input.subarray(frames + at, frames + at + now));
      this.instance.process(this.blocks, 0, now);
      output.set(left.subarray(0, now), at);
      output.set(right.subarray(0, now), frames + at);
    }
    return (processorNanoseconds() - start) / (2 * frames);
  }

  get evaluationsPerSample(): number {
    const { evaluations, samples } = this.instance.report;
    return (evaluations[0]! + evaluations[1]!) / (samples[0]! + samples[1]!);
  }
}

interface CppKernel {
  /** Nanoseconds per sample and channel. */
  run(): number;
  output(): Float64Array;
}

function cppKernels(name: string, program: CircuitProgram, { base, blocks, image }: WebAssemblyKernel, input: Float64Array): { plain: CppKernel; native: CppKernel } {
  mkdirSync(folder, { recursive: true });
  const structure = kernelStructure(program);
  const inputFile = `${folder}/${name}-input`;
  writeFileSync(inputFile, new Uint8Array(input.buffer));
  const kernel = (lanes: 1 | 2): CppKernel => {
    const words = [`${folder}/${name}-${lanes}-image`, inputFile, `${folder}/${name}-${lanes}-output`, base, blocks[0].byteOffset, blocks[1].byteOffset, blockFrames].map(String);
    writeFileSync(words[0]!, lanes === 2 ? image : oneLane(program, image, base));
    const source = `${translateModule(kernelCode(structure, lanes === 2 ? vectorLanes : scalarLane), bytes)}#define LANES ${lanes}\n#include "time-kernel.hpp"\n`;
    const file = buildProgramOf(`${name}-${lanes}`, source, lanes === 2 ? nativeOptions : plainOptions);
    return {
      run: () => Number(execFileSync(file, words, { encoding: 'utf8' })),
      output: () => new Float64Array(new Uint8Array(readFileSync(words[2]!)).buffer),
    };
  };
  return { plain: kernel(1), native: kernel(2) };
}

/** The image for a kernel of one lane: of each pair of numbers the left one. The scratch behind them is empty before the first sample. */
function oneLane(program: CircuitProgram, image: Uint8Array, base: number): Uint8Array {
  const structure = kernelStructure(program);
  const [two, one] = [memoryLayout(structure, vectorLanes.bytes), memoryLayout(structure, scalarLane.bytes)];
  const count = one.scratch.wanted / 8;
  if (two.scratch.wanted !== 16 * count) throw new Error(`${program.title}: expected pairs of ${count} numbers, got ${two.scratch.wanted} bytes`);
  const from = new Float64Array(image.buffer, base, 2 * count);
  const result = new Uint8Array(image.length);
  const to = new Float64Array(result.buffer, base, count);
  for (let k = 0; k < count; k += 1) to[k] = from[2 * k]!;
  return result;
}

function differingSamples(a: Float64Array, b: Float64Array): number {
  const [left, right] = [new BigUint64Array(a.buffer), new BigUint64Array(b.buffer)];
  if (left.length !== right.length) throw new Error(`outputs: expected ${left.length} samples, got ${right.length}`);
  return left.reduce((count, bits, k) => count + (bits === right[k] ? 0 : 1), 0);
}
