/** The page's end of the blind worker: what the listener asks for goes there, what sounds is its own affair with the audio thread. */
import * as Comlink from 'comlink';
import { oneGain } from '../../../dsp/listening/index.ts';
import { decibelsToRatio } from '../../../dsp/math/index.ts';
import type { Excerpt } from '../../../dsp/setting/index.ts';
import { regionFrames } from '../../../worklets/region-frames.ts';
import type { Blind } from '../../../worklets/workers/blind.ts';
import type { ExcerptMatch } from '../blind-state.ts';
import { excerptCount, excerptHeard, mayAnswer, sameParts } from '../reduce-blind.ts';
import { sentenceOf } from '../sentence.ts';
import type { Action, BenchState } from '../state.ts';
import type { AudioGraph } from './audio-graph.ts';
import type { EngineContext, EnginePart } from './contract.ts';
import type { LevelMatch } from './level-match.ts';

export class BlindComparison implements EnginePart {
  readonly #context: EngineContext;
  #worker: Worker | null = null;
  #blind: Comlink.Remote<Blind> | null = null;

  readonly #match: LevelMatch;

  constructor(context: EngineContext, match: LevelMatch) {
    this.#context = context;
    this.#match = match;
  }

  follow(before: BenchState, after: BenchState, action: Action): void {
    const { blind, excerpts } = after.live;
    if (blind?.kind === 'setup' && (before.live.blind?.kind !== 'setup' || after.live.programme !== before.live.programme || !sameParts(before.live.excerpts, excerpts))) void this.#measure(excerpts);
    switch (action.kind) {
      case 'blind-begin':
        if (blind?.kind === 'running' && this.#blind === null) this.#told(this.#begin(blind.plan, excerptCount(after)));
        return;
      case 'blind-excerpt':
        if (blind?.kind !== 'running' || !this.#blind) return;
        void this.#blind.choose(blind.excerpt);
        this.#playExcerpt(true);
        return;
      case 'blind-rewind':
        this.#playExcerpt(true);
        return;
      case 'blind-hear':
        // After the last answer there is nothing to hear.
        if (blind?.kind === 'running') this.#blind?.hear(action.token).catch(() => undefined);
        return;
      case 'blind-answer':
        if (mayAnswer(before)) this.#told(this.#answer(action.answer));
        return;
      case 'blind-stop':
        if (blind?.kind === 'running') this.#told(this.#stop());
    }
  }

  /** A new node hears from the worker before it plays. */
  async nodeBuilt(graph: AudioGraph): Promise<void> {
    if (!this.#blind) return;
    const { port1, port2 } = new MessageChannel();
    // The gains first: those that wait are taken as it begins.
    this.#sendGains(graph);
    graph.send({ kind: 'blind', port: port1 }, [port1]);
    this.#playExcerpt(false);
    await this.#blind.connect(Comlink.transfer(port2, [port2]));
  }

  dispose(): void {
    this.#worker?.terminate();
    this.#worker = null;
    this.#blind = null;
  }

  /** How near one gain would bring the two sides in all of them. */
  async #measure(excerpts: readonly Excerpt[]): Promise<void> {
    if (excerpts.length === 0) return;
    const told = (match: ExcerptMatch) => this.#context.dispatch({ kind: 'excerpts-matched', excerpts, match });
    try {
      const matches = await this.#context.measurer.matchExcerpts(excerpts.map(({ startSeconds, endSeconds }) => ({ startSeconds, endSeconds })));
      if (matches !== null) told(typeof matches === 'string' ? { kind: 'cannot-match', why: matches } : { kind: 'matched', ...oneGain(matches) });
    } catch (error) {
      told({ kind: 'cannot-match', why: sentenceOf(error) });
    }
  }

  /** Of the excerpts, where there are any: it stays as it is to the end. */
  #sendGains(graph: AudioGraph): void {
    const { blind } = this.#context.state().live;
    if (blind?.kind !== 'running' || blind.excerptMatch.kind !== 'matched') return;
    const { inGainDb, outGainDb } = blind.excerptMatch;
    graph.send({ kind: 'match', inGain: decibelsToRatio(inGainDb), outGain: decibelsToRatio(outGainDb), serial: 0 });
  }

  /** The excerpt that is chosen takes the region's place, for whatever token; `fromStart`: from its beginning. */
  #playExcerpt(fromStart: boolean): void {
    const programme = this.#context.programme();
    const graph = this.#context.graph();
    const state = this.#context.state();
    if (!programme) return;
    const region = regionFrames(programme, excerptHeard(state) ?? state.session.region);
    if (fromStart && !graph?.built) this.#context.readings.positionSeconds = region.startFrame / programme.rateHz;
    graph?.send({ kind: 'region', region });
    if (fromStart) graph?.send({ kind: 'seek', frame: region.startFrame });
  }

  async #begin(plan: Parameters<Blind['begin']>[0], excerpts: number): Promise<void> {
    this.#worker = new Worker(new URL('../../../worklets/workers/blind.ts', import.meta.url), { type: 'module', name: 'blind' });
    // One that cannot be had, or stops, answers nothing.
    this.#worker.addEventListener('error', (event) => this.#fail(new Error(event.message || 'its worker stopped')));
    this.#blind = Comlink.wrap<Blind>(this.#worker);
    // All of it in the order asked for: a listener may press A before the worker has answered.
    const begun = this.#blind.begin(plan, excerpts);
    // Without a node yet it is joined as soon as there is one.
    const graph = this.#context.graph();
    await Promise.all([begun, graph?.built ? this.nodeBuilt(graph) : null]);
    this.#context.dispatch({ kind: 'blind-told', progress: await begun, truth: null });
  }

  async #answer(answer: Parameters<Blind['answer']>[0]): Promise<void> {
    const reply = await this.#blind!.answer(answer);
    if (reply.progress.phase === 'ended') await this.#end();
    else this.#context.dispatch({ kind: 'blind-told', ...reply });
  }

  async #stop(): Promise<void> {
    await this.#blind!.stop();
    await this.#end();
  }

  async #end(): Promise<void> {
    const record = await this.#blind!.record();
    this.#seeAgain();
    if (record) this.#context.dispatch({ kind: 'blind-record', record });
    this.#playExcerpt(false);
  }

  /** The bench plays again, once it is asked to: its own side under its own gains. */
  #seeAgain(): void {
    const graph = this.#context.graph();
    graph?.send({ kind: 'pause' });
    graph?.send({ kind: 'sighted', trialIn: this.#context.state().live.trialIn });
    this.dispose();
    if (graph?.built) this.#match.nodeBuilt(graph);
  }

  /** What was answered is lost with its worker: nobody else knew what it was about. */
  #fail(error: unknown): void {
    const { dispatch, state } = this.#context;
    if (state().live.blind?.kind !== 'running') return;
    this.#seeAgain();
    dispatch({ kind: 'blind-failed' });
    this.#playExcerpt(false);
    dispatch({ kind: 'message', text: `The blind comparison stopped: ${sentenceOf(error)}. Nothing of it could be kept.`, urgent: true });
  }

  #told(work: Promise<void>): void {
    work.catch((error: unknown) => this.#fail(error));
  }
}
