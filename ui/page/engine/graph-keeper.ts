/**
 * Keeps the audio graph: makes it on a press of Play, another one at another rate, and its node anew after a fault. The newest of these alone acts: whatever an older one has waited for, it ends there.
 */
import * as Comlink from 'comlink';
import { decibelsToRatio } from '../../../dsp/math/index.ts';
import type { NodePlan } from '../../../worklets/workers/live.ts';
import { sentenceOf } from '../sentence.ts';
import type { Action, BenchState } from '../state.ts';
import type { AudioGraph } from './audio-graph.ts';

/** Faults of the processor within this time of one another end in silence instead of another node. */
const faultWindowMilliseconds = 5000;

export interface GraphNeeds {
  dispatch(action: Action): void;
  state(): BenchState;
  readonly live: { newestPlan(): Promise<NodePlan | null>; lastGoodPlan(): Promise<NodePlan | null>; connect(port: MessagePort): Promise<void> };
  /** Throws where this browser makes none. */
  makeGraph(rateHz: number): AudioGraph;
  /** Settled once the live worker has what was asked of it last. */
  asked(): Promise<void>;
  /** The programme's frame that is to sound next. */
  frame(): number;
  /** There is another node to listen to; null: none any more. */
  attach(graph: AudioGraph | null): void;
  /** Tells a new node what it must know before it plays, one thing after another. */
  tell(graph: AudioGraph, frame: number): Iterable<void | Promise<void>>;
  /** A node has been told everything. */
  joined(): void;
}

export class GraphKeeper {
  readonly #needs: GraphNeeds;
  #graph: AudioGraph | null = null;
  /** Of the newest making of a graph or a node. */
  #serial = 0;
  #joined = false;
  #lastFault = -Infinity;
  #rebuiltAfter: string | null = null;

  constructor(needs: GraphNeeds) {
    this.#needs = needs;
  }

  get graph(): AudioGraph | null {
    return this.#graph;
  }

  /** Its node knows everything: it may play. */
  get joined(): boolean {
    return this.#joined;
  }

  /** The fault after which the node was made anew; null: there was none. */
  get rebuiltAfter(): string | null {
    return this.#rebuiltAfter;
  }

  /** Within a press: makes the context at once, the rest as it comes. */
  start(): void {
    const { dispatch, state, live } = this.#needs;
    dispatch({ kind: 'engine-state', engine: { kind: 'starting' } });
    void this.#make(async () => {
      this.#graph = this.#needs.makeGraph(state().live.baseRateHz);
      // What was asked of the live worker before, it has planned before it answers.
      await this.#needs.asked();
      return await live.newestPlan();
    }, 'Reload the page, or try another browser.');
  }

  /** A context keeps its rate for life: another one takes its place, at once where something sounds, else at the next press. */
  changeRate(): void {
    if (!this.#graph) return;
    this.#close();
    const { dispatch, state } = this.#needs;
    const { playing, tonePlaying } = state().live;
    if (playing || tonePlaying) this.start();
    else dispatch({ kind: 'engine-state', engine: { kind: 'silent' } });
  }

  /** The node has died: another one in its place. */
  rebuild(fault: string): void {
    const now = performance.now();
    const again = now - this.#lastFault < faultWindowMilliseconds;
    this.#lastFault = now;
    this.#graph?.drop();
    if (again) {
      this.#fail(`The audio processor stopped twice (${fault}). Change a value, then press Play.`);
      return;
    }
    this.#rebuiltAfter = fault;
    void this.#make(() => this.#needs.live.lastGoodPlan(), 'Reload the page.');
  }

  async dispose(): Promise<void> {
    this.#serial += 1;
    await this.#graph?.close();
    this.#graph = null;
  }

  async #make(planOf: () => Promise<NodePlan | null>, remedy: string): Promise<void> {
    this.#serial += 1;
    const serial = this.#serial;
    const isCurrent = (): boolean => serial === this.#serial;
    this.#joined = false;
    try {
      const planned = await planOf();
      if (isCurrent()) await this.#build(this.#graph!, planned, isCurrent);
    } catch (error) {
      if (isCurrent()) this.#fail(`No sound: ${sentenceOf(error)}. ${remedy}`);
    }
  }

  async #build(graph: AudioGraph, planned: NodePlan | null, isCurrent: () => boolean): Promise<void> {
    if (!planned) throw new Error('there is no circuit that could be built yet');
    if (planned.plan.baseRateHz !== graph.rateHz) throw new Error(`the circuit could not be built at ${graph.rateHz} Hz`);
    const needs = this.#needs;
    const { live } = needs.state();
    // Read before the new node's meters come, which begin at 0.
    const frame = needs.frame();
    const { port1, port2 } = new MessageChannel();
    await graph.build({ ...planned, trialIn: live.trialIn, monitorGain: decibelsToRatio(live.monitorDb) }, port1);
    if (!isCurrent()) return;
    needs.attach(graph);
    await needs.live.connect(Comlink.transfer(port2, [port2]));
    if (!isCurrent()) return;
    for (const told of needs.tell(graph, frame)) {
      await told;
      if (!isCurrent()) return;
    }
    this.#joined = true;
    needs.joined();
  }

  #fail(sentence: string): void {
    this.#close();
    this.#needs.dispatch({ kind: 'engine-state', engine: { kind: 'failed', sentence } });
  }

  #close(): void {
    this.#serial += 1;
    this.#joined = false;
    this.#needs.attach(null);
    this.#graph?.close().catch(() => undefined);
    this.#graph = null;
    this.#rebuiltAfter = null;
  }
}
