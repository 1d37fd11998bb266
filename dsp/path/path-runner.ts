import { fadeFrames } from './fade.ts';
import { PairCore } from './pair-core.ts';
import { PathCore } from './path-core.ts';
import { isPairPlan } from './plan-sides.ts';
import type { TrialPlan } from './plan.ts';
import type { PathCounters } from './stage-chain.ts';
import type { PreparedValues, TrialCore } from './trial-core.ts';
import { TrialMix, type MatchGains } from './trial-mix.ts';

/** Changes take effect on multiples of this many base frames since reset, so that a log of them can be replayed exactly. */
export const landingFrames = 32;

/** Frames of input kept to fill the filters of a path that takes over. */
const historyFrames = 256;

type PendingPlan =
  | { readonly kind: 'values'; readonly revision: number; readonly values: PreparedValues }
  | { readonly kind: 'structure'; readonly revision: number; readonly core: TrialCore };

/**
 * What plays: samples in, samples out, at the base rate; one path, or two that are compared. What it puts out is a function of the plan, the samples and the frames at
 * which changes land, whatever the block sizes. `process` and the setters are for the audio thread: they allocate nothing, never throw and
 * never wait; `swap` belongs to the same thread but outside the callback (it allocates the next runners).
 *
 * A change of values fades each changed stage over 10 ms from the runner that ran to one that took over its memory; any other change (order,
 * a stage in or out, factor, what is on trial) fades between two whole paths. Of two that are compared, one plays on while the other changes. One change runs at a time; while it does, the
 * newest waits.
 */
export class PathRunner {
  readonly channels: number;
  readonly #maximumFrames: number;
  readonly #fadeFrames: number;
  readonly #trial: TrialMix;
  #core: TrialCore;
  #previousCore: TrialCore | null = null;
  /** Base frames into the fade between cores; negative while the new one's filters fill. */
  #corePosition = 0;
  #pending: PendingPlan | null = null;
  #landedRevision: number;
  #frame = 0;
  #nonFinite = 0;
  readonly #history: Float64Array[] = [];

  /** `revision` names the plan in `landedRevision`. */
  constructor(plan: TrialPlan, channels: number, maximumFrames: number, revision = 0) {
    this.#landedRevision = revision;
    this.channels = channels;
    this.#maximumFrames = maximumFrames;
    this.#fadeFrames = fadeFrames(plan.baseRateHz);
    this.#trial = new TrialMix(this.#fadeFrames);
    this.#core = this.#coreOf(plan, null);
    for (let channel = 0; channel < channels; channel += 1) this.#history.push(new Float64Array(historyFrames));
  }

  /** Base frames by which the output lags, in circuit and out alike. */
  get latencyFrames(): number {
    return this.#core.latencyFrames;
  }
  /** The plan that is heard, or being faded to. */
  get plan(): TrialPlan {
    return this.#core.plan;
  }
  get landedRevision(): number {
    return this.#landedRevision;
  }
  /** Base frames since reset. */
  get frame(): number {
    return this.#frame;
  }
  /** What is on trial is in circuit, or on its way there. */
  get trialIn(): boolean {
    return this.#trial.trialIn;
  }
  get fading(): boolean {
    return this.#previousCore !== null || this.#core.fading;
  }

  /** Sets the next plan; an earlier one that has not landed is dropped. Same base rate only. Allocates: not from within `process`. */
  swap(plan: TrialPlan, revision = 0): void {
    const { baseRateHz } = this.#core.plan;
    if (plan.baseRateHz !== baseRateHz) throw new RangeError(`base rate: expected ${baseRateHz} Hz as before, got ${plan.baseRateHz} Hz`);
    const values = this.#core.prepare(plan);
    this.#pending = values !== null ? { kind: 'values', revision, values } : { kind: 'structure', revision, core: this.#coreOf(plan, this.#core) };
  }

  #coreOf(plan: TrialPlan, current: TrialCore | null): TrialCore {
    return isPairPlan(plan) ? new PairCore(plan, this.channels, this.#maximumFrames, current) : new PathCore(plan, this.channels, this.#maximumFrames);
  }

  /** Prepares a take-over by a path like this one, so that the code of a change of structure has run before the first that counts; nothing where a change waits already. Allocates as `swap`. */
  rehearse(): void {
    this.#pending ??= { kind: 'structure', revision: this.#landedRevision, core: this.#coreOf(this.#core.plan, null) };
  }

  /** What is on trial in circuit or out, from the next landing on. */
  setTrialIn(trialIn: boolean): void {
    this.#trial.want(trialIn);
  }

  /** Gains of the level match, from the next landing on, over 10 ms. */
  setMatchGains(gains: MatchGains): void {
    this.#trial.wantGains(gains);
  }

  readCounters(into: PathCounters): void {
    into.samples = 0;
    into.evaluations = 0;
    into.rescues = 0;
    into.capHits = 0;
    into.nonFinite = this.#nonFinite;
    const { paths } = this.#core;
    for (let k = 0; k < paths.length; k += 1) paths[k]!.chain.addCounters(into);
  }

  /** Back to frame 0 with everything that was set in force and nothing fading. */
  reset(): void {
    if (this.#pending) {
      if (this.#pending.kind === 'values') {
        this.#core.apply(this.#pending.values);
      } else {
        this.#core = this.#pending.core;
        this.#core.takePlace();
      }
      this.#landedRevision = this.#pending.revision;
      this.#pending = null;
    }
    this.#previousCore = null;
    this.#core.reset();
    this.#trial.reset();
    for (const history of this.#history) history.fill(0);
    this.#frame = 0;
    this.#nonFinite = 0;
  }

  /** One block of any length; `inputs` and `outputs` may be the same arrays. Audio thread: allocates nothing, never throws. */
  process(inputs: readonly Float64Array[], outputs: readonly Float64Array[], frames: number): void {
    let done = 0;
    while (done < frames) {
      const intoLanding = this.#frame % landingFrames;
      if (intoLanding === 0) this.#land();
      let chunk = Math.min(frames - done, this.#maximumFrames);
      if (this.#pending !== null || this.#trial.waits) chunk = Math.min(chunk, landingFrames - intoLanding);
      this.#processChunk(inputs, outputs, done, chunk);
      this.#frame += chunk;
      done += chunk;
    }
  }

  #land(): void {
    this.#trial.land();
    const pending = this.#pending;
    if (pending === null || this.fading) return;
    if (pending.kind === 'values') {
      this.#core.apply(pending.values);
    } else {
      this.#previousCore = this.#core;
      this.#core = pending.core;
      this.#core.takeOver(this.#previousCore, this.#history);
      this.#corePosition = -this.#core.latencyFrames;
    }
    this.#landedRevision = pending.revision;
    this.#pending = null;
  }

  #processChunk(inputs: readonly Float64Array[], outputs: readonly Float64Array[], offset: number, frames: number): void {
    const trial = this.#trial;
    const core = this.#core;
    const previous = this.#previousCore;
    for (let channel = 0; channel < this.channels; channel += 1) this.#takeIn(channel, inputs[channel]!, offset, frames);
    core.process(frames, trial, this.#frame, null);
    if (previous !== null) {
      for (let channel = 0; channel < this.channels; channel += 1) previous.inputs[channel]!.set(core.inputs[channel]!);
      previous.process(frames, trial, this.#frame, core);
      core.fadeFrom(previous, frames, this.#corePosition);
      this.#corePosition += frames;
      if (this.#corePosition >= this.#fadeFrames) this.#previousCore = null;
    }
    trial.advance(frames);
    let finite = true;
    for (let channel = 0; channel < this.channels; channel += 1) {
      const mixed = core.outputs[channel]!;
      const output = outputs[channel]!;
      for (let i = 0; i < frames; i += 1) {
        const sample = mixed[i]! + 0;
        if (!(sample - sample === 0)) finite = false;
        output[offset + i] = sample;
      }
    }
    if (!finite) this.#mute(outputs, offset, frames);
  }

  /**
   * Copies a channel's input, non-finite samples replaced by silence, and keeps its history. A loop over the few frames of the base rate, as the one that gives the output: arrays
   * from outside are out of compiled code's reach.
   */
  #takeIn(channel: number, input: Float64Array, offset: number, frames: number): void {
    const taken = this.#core.inputs[channel]!;
    for (let i = 0; i < frames; i += 1) {
      const sample = input[offset + i]!;
      const finite = sample - sample === 0;
      if (!finite) this.#nonFinite += 1;
      taken[i] = finite ? sample : 0;
    }
    const history = this.#history[channel]!;
    const kept = Math.max(0, historyFrames - frames);
    history.copyWithin(0, historyFrames - kept);
    for (let i = kept; i < historyFrames; i += 1) history[i] = taken[frames - historyFrames + i]!;
  }

  /** A number that is none got through every guard: silence, a flag, and a path that starts afresh. */
  #mute(outputs: readonly Float64Array[], offset: number, frames: number): void {
    this.#nonFinite += 1;
    for (let channel = 0; channel < this.channels; channel += 1) outputs[channel]!.fill(0, offset, offset + frames);
    this.#previousCore = null;
    this.#core.reset();
  }
}
