/** A circuit stage running: two ideal gains round a circuit, rest voltage taken off. */
import { blockLoops, CircuitRunner, compiledBlocks, listeningTolerance, measuringTolerance, runnerBytes } from '../circuit/index.ts';
import type { BlockWork, CarriedBias } from '../circuit/index.ts';
import type { CircuitStageProgram, SolverTolerance, StageCounters, StageHome, StageRunner } from './contract.ts';
import { clearCounters, freshCounters } from './shared/counters.ts';

/** Everything but the constructor may be called from the audio callback: it allocates nothing, never throws, never waits. */
export class CircuitStageRunner implements StageRunner {
  readonly program: CircuitStageProgram;
  readonly counters: StageCounters = freshCounters();
  readonly #circuit: CircuitRunner;
  readonly #home: StageHome | null;
  readonly #blocks: BlockWork;
  /** Samples that were not finite before the circuit saw them. */
  #muted = 0;
  /** Of the present frame, one flag a channel. */
  readonly #unsound: Uint8Array;

  constructor(program: CircuitStageProgram, channels: number, tolerance: SolverTolerance = 'listening', home: StageHome | null = null) {
    this.program = program;
    this.#home = home;
    this.#blocks = (home === null ? null : compiledBlocks(home.memory)) ?? blockLoops;
    this.#unsound = new Uint8Array(channels);
    this.#circuit = new CircuitRunner(program.circuit, channels, tolerance === 'measuring' ? measuringTolerance : listeningTolerance, home);
  }

  /** Room in a home's arena, for the program's own rule or the dearest. */
  static bytes({ circuit }: CircuitStageProgram, channels: number, extent: 'itself' | 'dearest rule'): number {
    return runnerBytes(circuit, channels, extent === 'itself' ? circuit.rule : 'T24');
  }

  reset(): void {
    this.#circuit.reset();
    this.#muted = 0;
    clearCounters(this.counters);
  }

  /** Another kind of runner: starts from rest. */
  adopt(previous: StageRunner, bias: CarriedBias = 'settled'): void {
    if (previous instanceof CircuitStageRunner) this.#circuit.adopt(previous.#circuit, bias);
  }

  /** Volts in place. A sample that is not finite is taken as 0 V by the circuit, gives 0 V, and is counted. */
  process(channels: readonly Float64Array[], offset: number, frames: number): void {
    const blocks = this.#reaches(channels) ? this.#blocks : blockLoops;
    let unsound = 0;
    for (let channel = 0; channel < this.#circuit.channels; channel += 1) {
      unsound += blocks.scaleInput(channels[channel]!, offset, frames, this.program.inputGain);
    }
    // Nearly always: one pass over the samples, where frame by frame each is looked at again.
    if (unsound === 0) this.#sound(blocks, channels, offset, frames);
    else for (let n = offset; n < offset + frames; n += 1) this.#frame(blocks, channels, n);
    this.#muted += unsound;
    this.#count(frames * this.#circuit.channels);
  }

  /** Of inputs that are scaled and sound. */
  #sound(blocks: BlockWork, channels: readonly Float64Array[], offset: number, frames: number): void {
    const { outputGain, circuit: { restOutputVolts } } = this.program;
    const { counters } = this;
    this.#circuit.process(channels, offset, frames);
    for (let channel = 0; channel < this.#circuit.channels; channel += 1) {
      counters.peakOutputVolts = blocks.finishOutput(channels[channel]!, offset, frames, restOutputVolts, outputGain, counters.peakOutputVolts);
    }
  }

  /** One frame of scaled inputs, with samples that are muted. */
  #frame(blocks: BlockWork, channels: readonly Float64Array[], n: number): void {
    for (let channel = 0; channel < this.#circuit.channels; channel += 1) {
      this.#unsound[channel] = blocks.cleanInput(channels[channel]!, n, 1, 1);
    }
    this.#sound(blocks, channels, n, 1);
    for (let channel = 0; channel < this.#circuit.channels; channel += 1) if (this.#unsound[channel] === 1) channels[channel]![n] = 0;
  }

  /** As `CircuitRunner.storedQuantities` of the first channel. */
  storedQuantities(into: Float64Array, offset: number): number {
    return this.#circuit.storedQuantities(0, into, offset);
  }

  /** Whether compiled code can work on these arrays. */
  #reaches(channels: readonly Float64Array[]): boolean {
    if (this.#home === null) return true;
    for (let channel = 0; channel < this.#circuit.channels; channel += 1) if (!this.#home.arena.holds(channels[channel]!)) return false;
    return true;
  }

  #count(samples: number): void {
    const { report, channels } = this.#circuit;
    const counters = this.counters;
    counters.samples += samples;
    counters.evaluations = 0;
    counters.rescues = 0;
    counters.capHits = 0;
    counters.nonFinite = this.#muted;
    for (let channel = 0; channel < channels; channel += 1) {
      counters.evaluations += report.evaluations[channel]!;
      counters.rescues += report.rescues[channel]!;
      counters.capHits += report.capHits[channel]!;
      counters.nonFinite += report.nonFinite[channel]!;
    }
  }
}
