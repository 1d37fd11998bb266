/** Has what the thing on trial adds measured while it is wanted, and played in place of the path. */
import * as Comlink from 'comlink';
import { decibelsToRatio } from '../../../dsp/math/index.ts';
import type { MatchGains } from '../../../dsp/path/index.ts';
import type { DifferenceSamples } from '../../../worklets/messages.ts';
import { regionFrames, regionSamples } from '../../../worklets/region-frames.ts';
import type { DifferenceAction } from '../difference-state.ts';
import { pairAsked, samePair } from '../pair.ts';
import { raiseInForce } from '../reduce-difference.ts';
import { sentenceOf } from '../sentence.ts';
import type { Action, BenchState, MatchState } from '../state.ts';
import type { AudioGraph } from './audio-graph.ts';
import type { EngineContext, EnginePart } from './contract.ts';

/** Quiet time after the last change, as the match has it. */
const settledMilliseconds = 400;
/** It takes about a third of the region's length for each channel of a path, on a processor of its own. */
const longestSeconds = 60;

export class Difference implements EnginePart {
  readonly #context: EngineContext;
  #timer: ReturnType<typeof setTimeout> | undefined;
  /** Under way; 0: none. */
  #job = 0;
  #samples: DifferenceSamples | null = null;
  #isFresh = false;

  constructor(context: EngineContext) {
    this.#context = context;
  }

  follow(before: BenchState, after: BenchState, _action: Action): void {
    const elsewhere = !sameSubject(before, after);
    if (elsewhere || changesSound(before, after)) this.#outdate(elsewhere);
    const { difference } = after.live;
    if (difference.heard !== before.live.difference.heard || raiseInForce(difference) !== raiseInForce(before.live.difference)) this.#hear(this.#context.graph());
    if (!difference.heard) this.#letGo();
    else if (!before.live.difference.heard || settled(after.live.match) !== settled(before.live.match)) this.#measureLater(0);
  }

  nodeBuilt(graph: AudioGraph): void {
    graph.send({ kind: 'difference', samples: this.#samples });
    this.#hear(graph);
  }

  dispose(): void {
    this.#stop();
  }

  #hear(graph: AudioGraph | null): void {
    const { difference } = this.#context.state().live;
    graph?.send({ kind: 'hear-difference', heard: difference.heard, gain: decibelsToRatio(raiseInForce(difference)) });
  }

  /** `elsewhere`: what there is would sound under a wrong name, or beside another passage. */
  #outdate(elsewhere: boolean): void {
    this.#isFresh = false;
    this.#stop();
    if (elsewhere) this.#give(null);
    const { live: { difference } } = this.#context.state();
    if (difference.phase.kind !== 'none') this.#tell({ kind: 'difference-stale', keep: !elsewhere });
    if (difference.heard) this.#measureLater(settledMilliseconds);
  }

  /** Nobody wants it any more. */
  #letGo(): void {
    this.#stop();
    if (this.#context.state().live.difference.phase.kind === 'measuring') this.#tell({ kind: 'difference-stale', keep: this.#samples !== null });
  }

  #stop(): void {
    clearTimeout(this.#timer);
    if (this.#job !== 0) void this.#context.pool.cancel(this.#job);
    this.#job = 0;
  }

  #measureLater(milliseconds: number): void {
    clearTimeout(this.#timer);
    if (this.#isFresh) return;
    this.#timer = setTimeout(() => void this.#measure(), milliseconds);
  }

  /** Once the match stands: its gains are part of what is compared. */
  async #measure(): Promise<void> {
    const context = this.#context;
    const programme = context.programme();
    const { setting, session, live } = context.state();
    if (live.input.sounding) {
      this.#tell({ kind: 'difference-refused', why: 'a live input does not go round; choose a loop.' });
      return;
    }
    if (programme === null || !settled(live.match) || this.#job !== 0) return;
    const region = regionFrames(programme, session.region);
    if (region.endFrame - region.startFrame > longestSeconds * programme.rateHz) {
      this.#tell({ kind: 'difference-refused', why: `choose a region of ${longestSeconds} s or less.` });
      return;
    }
    const job = context.newJob();
    this.#job = job;
    const isCurrent = (): boolean => this.#job === job;
    this.#tell({ kind: 'difference-measuring', done: 0 });
    try {
      const found = await context.pool.difference({
        job, path: setting.path, joints: setting.joints, baseRateHz: live.baseRateHz, onTrial: session.onTrial, pair: pairAsked(context.state()), gains: gainsOf(live.match),
        // Copies, or all of the recording would be sent.
        channels: regionSamples(programme, region).map((channel) => channel.slice()),
      }, Comlink.proxy((done: number) => { if (isCurrent()) this.#tell({ kind: 'difference-measuring', done }); }));
      if (!isCurrent() || found === null) return;
      this.#isFresh = true;
      this.#give(found.raise === null ? null : { channels: found.channels, ...region });
      this.#tell({ kind: 'difference-found', levels: found.raise });
    } catch (error) {
      if (!isCurrent()) return;
      this.#give(null);
      this.#tell({ kind: 'difference-refused', why: `${sentenceOf(error)}.` });
    } finally {
      if (isCurrent()) this.#job = 0;
    }
  }

  #give(samples: DifferenceSamples | null): void {
    if (samples === null && this.#samples === null) return;
    this.#samples = samples;
    this.#context.graph()?.send({ kind: 'difference', samples });
  }

  #tell(action: DifferenceAction): void {
    this.#context.dispatch(action);
  }
}

/** What the difference is of, and over what. */
function sameSubject(before: BenchState, after: BenchState): boolean {
  const [a, b] = [before.session, after.session];
  return a.onTrial === b.onTrial && a.pair === b.pair && a.loop === b.loop && a.region === b.region && before.live.programme === after.live.programme && before.live.input.sounding === after.live.input.sounding;
}

function changesSound(before: BenchState, after: BenchState): boolean {
  return !samePair(before, after) || before.setting.path !== after.setting.path || before.setting.joints !== after.setting.joints || before.live.baseRateHz !== after.live.baseRateHz
    || (before.live.match.kind === 'off') !== (after.live.match.kind === 'off');
}

/** Nothing is to be waited for. */
function settled({ kind }: MatchState): boolean {
  return kind === 'matched' || kind === 'off' || kind === 'cannot-match';
}

function gainsOf(match: MatchState): MatchGains {
  return match.kind === 'matched' ? { inGain: decibelsToRatio(match.inGainDb), outGain: decibelsToRatio(match.outGainDb) } : { inGain: 1, outGain: 1 };
}
