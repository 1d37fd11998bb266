/** A subject that plays: the stages' own runners one behind the other, in volts at the internal rate, without the ladder. Off the audio thread. */
import { createStageRunner, stageRunnerBytes, type CircuitStageProgram, type StageHome, type StageRunner } from '../../../stages/index.ts';
import { createCodeMemory } from '../../../webassembly/index.ts';
import type { PathPlan, PlannedStage } from '../../../path/index.ts';

/** Samples at a time: some milliseconds of work for ten stages. */
export const blockFrames = 512;

/** What runs, in its state after the samples so far. The same bits as while playing at the measuring grade: they are the same runners. */
export class PlayedChain {
  readonly #runners: readonly { readonly runner: StageRunner; readonly sign: 1 | -1 }[];
  readonly #block: Float64Array;
  readonly #channels: readonly Float64Array[];

  constructor(stages: readonly PlannedStage[], grade: PathPlan['grade']) {
    const bytes = stages.reduce((sum, { wired }) => sum + 16 * Math.ceil(stageRunnerBytes(wired.program, 1) / 16) + 16, 8 * blockFrames + 64);
    const memory = createCodeMemory(bytes);
    const home = (program: PlannedStage['wired']['program']): StageHome | null => (memory === null ? null : { memory, arena: memory.arena.part(16 * Math.ceil(stageRunnerBytes(program, 1) / 16)) });
    this.#block = memory === null ? new Float64Array(blockFrames) : memory.arena.floats(blockFrames);
    this.#channels = [this.#block];
    this.#runners = stages.map(({ wired, reversed }) => ({ runner: createStageRunner(wired.program, 1, grade, home(wired.program)), sign: reversed ? -1 : 1 }));
  }

  /** Input volts in, output volts out, in place, from `offset`; at most `blockFrames`. */
  play(volts: Float64Array, offset: number, frames: number): void {
    const block = this.#block;
    for (let n = 0; n < frames; n += 1) block[n] = volts[offset + n]!;
    for (const { runner, sign } of this.#runners) {
      runner.process(this.#channels, 0, frames);
      if (sign < 0) for (let n = 0; n < frames; n += 1) block[n] = -block[n]!;
    }
    for (let n = 0; n < frames; n += 1) volts[offset + n] = block[n]!;
  }

  /** What each circuit's capacitors and inductors hold now, as `heldBy` names them. */
  held(into: Float64Array): void {
    let at = 0;
    for (const { runner } of this.#runners) {
      if (runner.storedQuantities === undefined) continue;
      at += runner.storedQuantities(into, at);
    }
  }
}

/** What a chain holds: stage and component, in the order of `PlayedChain.held`. */
export function heldBy(stages: readonly PlannedStage[]): readonly { readonly planned: PlannedStage; readonly name: string; readonly isCapacitor: boolean }[] {
  return stages.flatMap((planned) => {
    const { program } = planned.wired;
    return program.kind === 'circuit' ? program.circuit.stateNames.map((name, k) => ({ planned, name, isCapacitor: isVolts(program, k) })) : [];
  });
}

/** Unit of a capacitor is 1 V, of the others less. */
const isVolts = ({ circuit }: CircuitStageProgram, state: number): boolean => circuit.stateUnits[state] === 1;

/** Plays all of `volts` in place, in steps. */
export function* played(chain: PlayedChain, volts: Float64Array): Generator<undefined, void> {
  for (let at = 0; at < volts.length; at += blockFrames) {
    chain.play(volts, at, Math.min(blockFrames, volts.length - at));
    yield undefined;
  }
}
