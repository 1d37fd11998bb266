/** The page's end of the blind worker: what the listener asks for goes there, what sounds is its own affair with the audio thread. */
import * as Comlink from 'comlink';
import type { Blind } from '../../../worklets/workers/blind.ts';
import { sentenceOf } from '../sentence.ts';
import type { Action, BenchState } from '../state.ts';
import type { AudioGraph } from './audio-graph.ts';
import type { EngineContext, EnginePart } from './contract.ts';

export class BlindComparison implements EnginePart {
  readonly #context: EngineContext;
  #worker: Worker | null = null;
  #blind: Comlink.Remote<Blind> | null = null;

  constructor(context: EngineContext) {
    this.#context = context;
  }

  follow(_before: BenchState, after: BenchState, action: Action): void {
    const { blind } = after.live;
    switch (action.kind) {
      case 'blind-begin':
        if (blind?.kind === 'running' && this.#blind === null) this.#told(this.#begin(blind.plan));
        return;
      case 'blind-hear':
        if (blind?.kind === 'running') void this.#blind?.hear(action.token);
        return;
      case 'blind-answer':
        if (blind?.kind === 'running') this.#told(this.#answer(action.answer));
        return;
      case 'blind-stop':
        if (blind?.kind === 'running') this.#told(this.#stop());
    }
  }

  /** A new node hears from the worker before it plays. */
  async nodeBuilt(graph: AudioGraph): Promise<void> {
    if (!this.#blind) return;
    const { port1, port2 } = new MessageChannel();
    graph.send({ kind: 'blind', port: port1 }, [port1]);
    await this.#blind.connect(Comlink.transfer(port2, [port2]));
  }

  dispose(): void {
    this.#worker?.terminate();
    this.#worker = null;
    this.#blind = null;
  }

  async #begin(plan: Parameters<Blind['begin']>[0]): Promise<void> {
    this.#worker = new Worker(new URL('../../../worklets/workers/blind.ts', import.meta.url), { type: 'module', name: 'blind' });
    this.#blind = Comlink.wrap<Blind>(this.#worker);
    const progress = await this.#blind.begin(plan);
    // Without a node yet it is joined as soon as there is one.
    const graph = this.#context.graph();
    if (graph?.built) await this.nodeBuilt(graph);
    this.#context.dispatch({ kind: 'blind-told', progress, truth: null });
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
    const graph = this.#context.graph();
    graph?.send({ kind: 'pause' });
    graph?.send({ kind: 'sighted', trialIn: this.#context.state().live.trialIn });
    this.dispose();
    if (record) this.#context.dispatch({ kind: 'blind-record', record });
  }

  #told(work: Promise<void>): void {
    work.catch((error: unknown) => this.#context.dispatch({ kind: 'message', text: `The blind comparison stopped: ${sentenceOf(error)}.`, urgent: true }));
  }
}
