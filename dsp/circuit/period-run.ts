/** One period of one instance of a circuit, run again and again from states of one's choosing. Off the audio thread. */
import { coreHead, coreHistoryLength, retraceCore, untouchedReversals } from './core-law.ts';
import { monodromyByProduct } from './exact-monodromy.ts';
import type { CircuitProgram } from './program.ts';
import { scratchInstance } from './scratch-instance.ts';
import type { ScratchInstance } from './scratch-instance.ts';

/** A state moved before a period is run. */
export interface Displacement {
  readonly state: number;
  readonly by: number;
}

/** Where a period begins, and ∂z(N)/∂z(0) over it, row-major; null if unknown. */
export interface PeriodStart {
  readonly states: Float64Array;
  readonly controls: Float64Array;
  /** Memories of the cores (core-law.ts). */
  readonly histories: Float64Array;
  readonly monodromy: Float64Array | null;
}

/**
 * What a quiet tone's reversals are to repeat to: it lives in a fraction of the flux that states are judged by, and its third harmonic in its reversals alone. Below 1e-5 of the flux of 1 mA nothing is
 * left to be measured.
 */
const leastFluxShare = 1e-5;

export class PeriodRun {
  readonly program: CircuitProgram;
  /** z and guess of v before the period; the caller sets them. */
  readonly startStates: Float64Array;
  readonly startControls: Float64Array;
  /** Memories of the cores before the period: as if the tone had been raised slowly on a demagnetised core. */
  readonly startHistories: Float64Array;
  /** Memories of the cores after the period last run. */
  readonly endHistories: Float64Array;
  /** z and v after the period last run. */
  readonly endStates: Float64Array;
  readonly endControls: Float64Array;
  /** What each state stores after it: volts of a capacitor, amperes of an inductor. */
  readonly endStored: Float64Array;
  /** Of the period last run, at the instance's own step. */
  readonly output: Float64Array;
  /** Passes over the period; the two lanes of a compiled kernel together count once. */
  periods = 0;
  /** Device evaluations and cap hits of the period last run. */
  evaluations = 0;
  capHits = 0;
  private readonly index: number;
  private readonly input: Float64Array;

  /** Starts at the operating point. `input` is one period in volts at the step of instance `index`. */
  constructor(program: CircuitProgram, index: number, input: Float64Array) {
    this.program = program;
    this.index = index;
    this.input = input;
    this.startStates = Float64Array.from(program.operatingPoint.stored);
    this.startControls = Float64Array.from(program.operatingPoint.controlVolts);
    this.startHistories = new Float64Array(program.coreStates.length * coreHistoryLength);
    this.endHistories = new Float64Array(this.startHistories.length);
    this.endStates = new Float64Array(this.startStates.length);
    this.endControls = new Float64Array(this.startControls.length);
    this.endStored = new Float64Array(this.startStates.length);
    this.output = new Float64Array(input.length);
    this.startAtRest();
  }

  /**
   * The instance, and what it works on in place, one array a lane, a part of the period at a time. All of a thread work in the same memory, and between two passes another run may have: each pass asks
   * anew and places all that it starts from.
   */
  private scratch(): ScratchInstance {
    return scratchInstance(this.program, this.index);
  }

  /** At the operating point. */
  startAtRest(): void {
    const { instance } = this.scratch();
    const { stored, controlVolts } = this.program.operatingPoint;
    this.startStates.set(stored);
    this.startControls.set(controlVolts);
    instance.place(0, this.startStates, this.startControls);
    instance.readHistories(0, this.startHistories);
  }

  /** From where a neighbour's solution begins. */
  startFrom({ states, controls, histories }: PeriodStart): void {
    this.startStates.set(states);
    this.startControls.set(controls);
    this.startHistories.set(histories);
  }

  /** One period from the start values. False: the circuit left the finite numbers. */
  run(): boolean {
    const { startStates, startControls, startHistories, endStates, endControls, endStored } = this;
    const scratch = this.scratch();
    const { instance } = scratch;
    const { report } = instance;
    const evaluationsBefore = report.evaluations[0]!;
    const capHitsBefore = report.capHits[0]!;
    for (let lane = 0; lane < instance.channels; lane += 1) instance.place(lane, startStates, startControls, startHistories);
    const finite = this.pass(scratch, this.output);
    instance.read(0, endStates, endControls);
    instance.readHistories(0, this.endHistories);
    for (let k = 0; k < endStored.length; k += 1) endStored[k] = instance.storedQuantity(0, k);
    this.evaluations = report.evaluations[0]! - evaluationsBefore;
    this.capHits = report.capHits[0]! - capHitsBefore;
    return finite[0]!;
  }

  /** The end of the period becomes the start of the next. */
  advance(): void {
    this.startStates.set(this.endStates);
    this.startControls.set(this.endControls);
    this.advanceHistories();
  }

  /**
   * The cores begin the next period with what the last one left, on a core that was demagnetised before it: reversals that the period did not pass are those of the way into the steady state, or of a
   * louder neighbour, and are forgotten, so that the figures of a level do not depend on what was measured before.
   */
  advanceHistories(): void {
    const { startHistories, endHistories, program: { coreStates, devices: { cores, parameters, parameterOffsets } } } = this;
    for (let core = 0; core < coreStates.length; core += 1) {
      const place = core * coreHistoryLength;
      const skipped = untouchedReversals(startHistories, endHistories, place);
      retraceCore(parameters, parameterOffsets[cores[core]!]!, endHistories, place, skipped, startHistories, place);
    }
  }

  /** Largest change of a state over the period, relative to the larger of its unit and itself; of a core's flux, to how far it last came. */
  periodError(): number {
    const { stateUnits, coreStates } = this.program;
    let error = 0;
    for (let k = 0; k < this.startStates.length; k += 1) {
      const core = coreStates.indexOf(k);
      const unit = core < 0 ? stateUnits[k]! : Math.max(leastFluxShare * stateUnits[k]!, Math.abs(this.endHistories[core * coreHistoryLength + coreHead.from]!));
      const start = this.startStates[k]!;
      const change = Math.abs(this.endStates[k]! - start) / Math.max(unit, Math.abs(start));
      if (!(change <= error)) error = change;
    }
    return error;
  }

  /** z after a period for each displacement of the start, NaN where it left the finite numbers; the period last run stays what is reported. Yields between passes. */
  *displaced(displacements: readonly Displacement[]): Generator<void, Float64Array[]> {
    const { startStates, startControls, startHistories } = this;
    const ends = displacements.map(() => new Float64Array(startStates.length));
    const controls = new Float64Array(startControls.length);
    for (let first = 0; first < displacements.length;) {
      const scratch = this.scratch();
      const { instance } = scratch;
      for (let lane = 0; lane < instance.channels; lane += 1) {
        // Where a lane is left over it computes the last one again.
        const { state, by } = displacements[Math.min(first + lane, displacements.length - 1)]!;
        const states = Float64Array.from(startStates);
        states[state] = states[state]! + by;
        instance.place(lane, states, startControls, startHistories);
      }
      const finite = this.pass(scratch, null);
      for (let lane = 0; lane < instance.channels && first + lane < displacements.length; lane += 1) {
        if (finite[lane]) instance.read(lane, ends[first + lane]!, controls);
        else ends[first + lane]!.fill(NaN);
      }
      first += instance.channels;
      yield;
    }
    return ends;
  }

  /** ∂z(N)/∂z(0) at the start values, by the product of the steps' Jacobians. Yields on the way. */
  *exactMonodromy(): Generator<void, Float64Array> {
    this.periods += 1;
    return yield* monodromyByProduct(this.program, this.index, this, this.input);
  }

  /** Through the period from what the lanes hold; says of each whether it stayed finite. */
  private pass({ instance, lanes }: ScratchInstance, output: Float64Array | null): boolean[] {
    const { input } = this;
    const { nonFinite } = instance.report;
    const before = Array.from(nonFinite);
    this.periods += 1;
    const chunkFrames = lanes[0]!.length;
    for (let at = 0; at < input.length; at += chunkFrames) {
      const frames = Math.min(chunkFrames, input.length - at);
      const part = input.subarray(at, at + frames);
      for (const lane of lanes) lane.set(part);
      instance.process(lanes, 0, frames);
      output?.set(lanes[0]!.subarray(0, frames), at);
    }
    return before.map((count, lane) => nonFinite[lane] === count);
  }
}
