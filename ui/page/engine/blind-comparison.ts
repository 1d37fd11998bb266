/** The page's end of the blind worker: what the listener asks for goes there, what sounds is its own affair with the audio thread. */
import * as Comlink from 'comlink';
import type { Blind } from '../../../worklets/workers/blind.ts';
import type { AudioGraph } from './audio-graph.ts';
import type { Action, BenchState } from '../state.ts';

export class BlindComparison {
  readonly #dispatch: (action: Action) => void;
  #worker: Worker | null = null;
  #blind: Comlink.Remote<Blind> | null = null;

  constructor(dispatch: (action: Action) => void) {
    this.#dispatch = dispatch;
  }

  /** Null: there is no node yet; it is joined as soon as there is one. */
  follow(after: BenchState, action: Action, graph: AudioGraph | null): void {
    const { blind } = after.live;
    switch (action.kind) {
      case 'blind-begin':
        if (blind?.kind === 'running' && this.#blind === null) this.#told(this.#begin(blind.plan, graph));
        return;
      case 'blind-hear':
        if (blind?.kind === 'running') void this.#blind?.hear(action.token);
        return;
      case 'blind-answer':
        if (blind?.kind === 'running') this.#told(this.#answer(action.answer, graph, after.live.trialIn));
        return;
      case 'blind-stop':
        if (blind?.kind === 'running') this.#told(this.#stop(graph, after.live.trialIn));
    }
  }

  /** A new node hears from the worker before it plays. */
  async join(graph: AudioGraph): Promise<void> {
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

  async #begin(plan: Parameters<Blind['begin']>[0], graph: AudioGraph | null): Promise<void> {
    this.#worker = new Worker(new URL('../../../worklets/workers/blind.ts', import.meta.url), { type: 'module', name: 'blind' });
    this.#blind = Comlink.wrap<Blind>(this.#worker);
    const progress = await this.#blind.begin(plan);
    if (graph?.built) await this.join(graph);
    this.#dispatch({ kind: 'blind-told', progress, truth: null });
  }

  async #answer(answer: Parameters<Blind['answer']>[0], graph: AudioGraph | null, trialIn: boolean): Promise<void> {
    const reply = await this.#blind!.answer(answer);
    if (reply.progress.phase === 'ended') await this.#end(graph, trialIn);
    else this.#dispatch({ kind: 'blind-told', ...reply });
  }

  async #stop(graph: AudioGraph | null, trialIn: boolean): Promise<void> {
    await this.#blind!.stop();
    await this.#end(graph, trialIn);
  }

  async #end(graph: AudioGraph | null, trialIn: boolean): Promise<void> {
    const record = await this.#blind!.record();
    graph?.send({ kind: 'pause' });
    graph?.send({ kind: 'sighted', trialIn });
    this.dispose();
    if (record) this.#dispatch({ kind: 'blind-record', record });
  }

  #told(work: Promise<void>): void {
    work.catch((error: unknown) => this.#dispatch({ kind: 'message', text: `The blind comparison stopped: ${error instanceof Error ? error.message : String(error)}.`, urgent: true }));
  }
}
