import type { TrialPlan } from './plan.ts';
import { PathRunner } from './path-runner.ts';
import type { MatchGains } from './trial-mix.ts';

/** A change on the way: it lands at the first multiple of 32 base frames at or after `frame`, as it did when it was played. */
export interface PathEvent {
  /** Input frame since the start. */
  readonly frame: number;
  readonly plan?: TrialPlan;
  readonly trialIn?: boolean;
  readonly gains?: MatchGains;
}

export interface RenderOptions {
  readonly trialIn?: boolean;
  readonly gains?: MatchGains;
  /** In order of frames. */
  readonly events?: readonly PathEvent[];
  /** Frames dropped from the start beside the latency: all passes of a loop but the last. */
  readonly skipFrames?: number;
  readonly blockFrames?: number;
}

/** Takes a block of the output; the arrays are used again. */
export type Emit = (outputs: readonly Float64Array[], frames: number) => void;

/**
 * A path run from frame 0 over a recording that comes in pieces of any size. The output is aligned with the input (the latency is dropped
 * at the start and drained at the end) and as long. What comes out depends on plan, samples and events alone, not on the pieces.
 */
export class PathRenderer {
  readonly runner: PathRunner;
  readonly #outputs: Float64Array[] = [];
  readonly #views: Float64Array[] = [];
  readonly #blockFrames: number;
  readonly #events: readonly PathEvent[];
  readonly #latencyFrames: number;
  #nextEvent = 0;
  #toDrop: number;
  #taken = 0;

  constructor(plan: TrialPlan, channels: number, options: RenderOptions = {}) {
    this.#blockFrames = options.blockFrames ?? 1024;
    this.#events = options.events ?? [];
    this.runner = new PathRunner(plan, channels, this.#blockFrames);
    this.runner.setTrialIn(options.trialIn ?? true);
    if (options.gains) this.runner.setMatchGains(options.gains);
    this.runner.reset();
    this.#latencyFrames = this.runner.latencyFrames;
    this.#toDrop = this.#latencyFrames + (options.skipFrames ?? 0);
    for (let channel = 0; channel < channels; channel += 1) {
      this.#outputs.push(new Float64Array(this.#blockFrames));
      this.#views.push(new Float64Array(0));
    }
  }

  /** Frames at the start that are dropped and at the end drained. */
  get latencyFrames(): number {
    return this.#latencyFrames;
  }

  push(inputs: readonly Float64Array[], frames: number, emit: Emit): void {
    let done = 0;
    while (done < frames) {
      this.#applyEvents();
      const nextFrame = this.#events[this.#nextEvent]?.frame ?? Infinity;
      const chunk = Math.min(this.#blockFrames, frames - done, nextFrame - this.#taken);
      for (let channel = 0; channel < inputs.length; channel += 1) this.#views[channel] = inputs[channel]!.subarray(done, done + chunk);
      this.runner.process(this.#views, this.#outputs, chunk);
      this.#taken += chunk;
      done += chunk;
      this.#emitWhatIsDue(chunk, emit);
    }
  }

  /** Silence after the end until the last sample has come out. */
  finish(emit: Emit): void {
    const silence = this.#outputs.map(() => new Float64Array(this.#latencyFrames));
    this.push(silence, this.#latencyFrames, emit);
  }

  #applyEvents(): void {
    for (let event = this.#events[this.#nextEvent]; event && event.frame <= this.#taken; event = this.#events[this.#nextEvent]) {
      if (event.plan) this.runner.swap(event.plan);
      if (event.trialIn !== undefined) this.runner.setTrialIn(event.trialIn);
      if (event.gains) this.runner.setMatchGains(event.gains);
      this.#nextEvent += 1;
    }
  }

  #emitWhatIsDue(frames: number, emit: Emit): void {
    const dropped = Math.min(frames, this.#toDrop);
    this.#toDrop -= dropped;
    if (dropped === frames) return;
    emit(dropped === 0 ? this.#outputs : this.#outputs.map((output) => output.subarray(dropped)), frames - dropped);
  }
}

/**
 * A whole recording in memory, `passes` times through without a break (a loop: state continues across the wrap); the last pass is returned.
 * A generator, so that a worker can yield and a cancel be heard: yields the share done (0–1) after every `yieldFrames` frames.
 */
export function* renderInSteps(
  plan: TrialPlan, inputs: readonly Float64Array[], options: RenderOptions & { readonly passes?: number; readonly yieldFrames?: number } = {},
): Generator<number, Float64Array[]> {
  const passes = options.passes ?? 1;
  const frames = inputs[0]!.length;
  const yieldFrames = options.yieldFrames ?? 512;
  const renderer = new PathRenderer(plan, inputs.length, { ...options, skipFrames: (passes - 1) * frames });
  const results = inputs.map(() => new Float64Array(frames));
  let written = 0;
  const emit: Emit = (outputs, count) => {
    for (let channel = 0; channel < results.length; channel += 1) results[channel]!.set(outputs[channel]!.subarray(0, count), written);
    written += count;
  };
  for (let pass = 0; pass < passes; pass += 1) {
    for (let at = 0; at < frames; at += yieldFrames) {
      const count = Math.min(yieldFrames, frames - at);
      renderer.push(inputs.map((input) => input.subarray(at, at + count)), count, emit);
      yield (pass * frames + at + count) / (passes * frames);
    }
  }
  renderer.finish(emit);
  return results;
}
