/** One instance of a program in the readable loop and in the compiled kernel, side by side; in Node and in the browser. A shell must have installed WebAssembly. */
import { createInstance, instanceBytes } from '../../../dsp/circuit/create-instance.ts';
import { coreHead, coreHeadLength, coreHistoryLength } from '../../../dsp/circuit/core-law.ts';
import { LoopInstance } from '../../../dsp/circuit/loop-instance.ts';
import type { CircuitProgram, InstanceRunner } from '../../../dsp/circuit/index.ts';
import type { SolverReport } from '../../../dsp/circuit/index.ts';
import { SeededRandom } from '../../../dsp/math/index.ts';
import { createCodeMemory } from '../../../dsp/webassembly/index.ts';

export interface ComparisonOptions {
  readonly instanceIndex?: number;
  readonly tolerance?: number;
  /** Whether the compiled code reaches the signals where they are. */
  readonly inArena?: boolean;
  /** Of the block lengths. */
  readonly seed?: number;
  readonly longestBlock?: number;
}

export interface Comparison {
  /** Null: every output, state, control voltage and counter has the same bits. */
  readonly difference: string | null;
  /** Of the loop. */
  readonly report: SolverReport;
  /** Volts out, one array a channel. */
  readonly outputs: readonly Float64Array[];
}

/** Same bits; any NaN is any other's equal. */
const same = (a: number, b: number): boolean => Object.is(a, b);

function firstDifference(what: string, loop: ArrayLike<number>, kernel: ArrayLike<number>, count: number): string | null {
  for (let k = 0; k < count; k += 1) if (!same(loop[k]!, kernel[k]!)) return `${what} ${k}: loop ${loop[k]!}, kernel ${kernel[k]!}`;
  return null;
}

function compareMemory(program: CircuitProgram, loop: InstanceRunner, kernel: InstanceRunner, when: string): string | null {
  const { stateCount, controlCount } = program.topology;
  for (let channel = 0; channel < loop.channels; channel += 1) {
    const read = [loop, kernel].map((runner) => {
      const states = new Float64Array(stateCount);
      const volts = new Float64Array(controlCount);
      runner.read(channel, states, volts);
      return {
        states, volts,
        stored: Float64Array.from(states, (_, k) => runner.storedQuantity(channel, k)),
        controls: Float64Array.from(volts, (_, k) => runner.controlVolts(channel, k)),
      };
    });
    const [a, b] = [read[0]!, read[1]!];
    const histories = [loop, kernel].map((runner) => {
      const numbers = new Float64Array(program.coreStates.length * coreHistoryLength);
      runner.readHistories(channel, numbers);
      // What lies beyond the last reversal is left over.
      return Array.from(program.coreStates, (_, core) => {
        const place = core * coreHistoryLength;
        return [...numbers.subarray(place, place + coreHeadLength + 2 * numbers[place + coreHead.count]!)];
      }).flat();
    });
    const remembered = histories[0]!.length === histories[1]!.length ? firstDifference('number of the cores’ memory', histories[0]!, histories[1]!, histories[0]!.length) : 'reversals: as many as not in the loop';
    const found = remembered ?? firstDifference('state', a.states, b.states, stateCount) ?? firstDifference('control', a.volts, b.volts, controlCount)
      ?? firstDifference('stored quantity', a.stored, b.stored, stateCount) ?? firstDifference('control voltage', a.controls, b.controls, controlCount);
    if (found !== null) return `${when}, channel ${channel}, ${found}`;
  }
  for (const counter of Object.keys(loop.report) as (keyof SolverReport)[]) {
    const found = firstDifference('channel', loop.report[counter], kernel.report[counter], loop.channels);
    if (found !== null) return `${when}, ${counter}, ${found}`;
  }
  return null;
}

/**
 * One or two channels through both: started at half the first input, in blocks of random length; in the middle one channel is started again (as after a take-over) from
 * memory of its own; at the end a reset, and the beginning again.
 */
export function compareBackEnds(program: CircuitProgram, signals: readonly Float64Array[], options: ComparisonOptions = {}): Comparison {
  const { instanceIndex = 0, tolerance = 1e-4, inArena = true, seed = 20261125, longestBlock = 700 } = options;
  const frames = signals[0]!.length;
  const memory = createCodeMemory(instanceBytes(program) + 16 * (frames + 64))!;
  const loop = new LoopInstance(program, instanceIndex, signals.length, tolerance);
  const kernel = createInstance(program, instanceIndex, signals.length, tolerance, { memory, arena: memory.arena });
  if (kernel instanceof LoopInstance) throw new Error('expected a compiled kernel, got the loop');
  const ours = signals.map((signal) => signal.slice());
  const theirs = signals.map((signal) => {
    const array = inArena ? memory.arena.floats(frames) : new Float64Array(frames);
    array.set(signal);
    return array;
  });
  const random = new SeededRandom(seed);
  let difference: string | null = null;
  const judge = (found: string | null): void => { difference ??= found; };
  const both = [[loop, ours], [kernel, theirs]] as const;
  const through = (from: number, to: number): void => {
    for (let at = from; at < to;) {
      const length = Math.min(to - at, random.nextUint32() % longestBlock);
      for (const [runner, buffers] of both) runner.process(buffers, at, length);
      at += length;
    }
    signals.forEach((_, channel) => judge(firstDifference(`channel ${channel}, frame`, ours[channel]!, theirs[channel]!, to)));
  };

  judge(compareMemory(program, loop, kernel, 'at rest'));
  signals.forEach((signal, channel) => { for (const [runner] of both) runner.start(channel, (Number.isFinite(signal[0]!) ? signal[0]! : 0) / 2); });
  const middle = frames >> 1;
  through(0, middle);
  judge(compareMemory(program, loop, kernel, 'in the middle'));
  const last = signals.length - 1;
  const states = new Float64Array(program.topology.stateCount);
  const volts = new Float64Array(program.topology.controlCount);
  const histories = new Float64Array(program.coreStates.length * coreHistoryLength);
  loop.read(last, states, volts);
  loop.readHistories(last, histories);
  for (const [runner] of both) {
    runner.place(last, states.map((z) => 0.9 * z), volts, histories);
    runner.start(last, 0.1);
  }
  judge(compareMemory(program, loop, kernel, 'after a new start'));
  through(middle, frames);
  judge(compareMemory(program, loop, kernel, 'at the end'));
  const report = Object.fromEntries(Object.entries(loop.report).map(([counter, values]) => [counter, (values as Float64Array).slice()])) as unknown as SolverReport;
  const outputs = ours.map((wave) => wave.slice());
  for (const [runner, buffers] of both) {
    buffers.forEach((buffer, channel) => buffer.set(signals[channel]!));
    runner.reset();
    runner.process(buffers, 0, Math.min(40, frames));
  }
  judge(compareMemory(program, loop, kernel, 'after a reset'));
  return { difference, report, outputs };
}
