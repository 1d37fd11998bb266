/**
 * Long listenings between visits, and the sitting under way: keeps them in this browser, has the concealed side sounded by the blind worker, and ends a sitting where its programme ends.
 * The worker alone works out the side; the page gives it seed and place and gets nothing back.
 */
import * as Comlink from 'comlink';
import { fileStem } from '../../documents/file-stem.ts';
import { parseLongListening, writeLongListening } from '../../../dsp/setting/index.ts';
import { regionFrames } from '../../../worklets/region-frames.ts';
import type { Blind } from '../../../worklets/workers/blind.ts';
import { download } from '../download.ts';
import { sittingListening } from '../reduce-sitting.ts';
import { sentenceOf } from '../sentence.ts';
import type { KeptListening } from '../sitting-state.ts';
import type { Action, BenchState } from '../state.ts';
import { storeAll, storeDelete, storeSet } from '../store.ts';
import type { AudioGraph } from './audio-graph.ts';
import type { EngineContext, EnginePart } from './contract.ts';

/** The programme is faded out so long before its end, so that its beginning is not heard again. */
const endMarginSeconds = 0.06;
/** Looked at once more so long after a guess at the end that came too early: sound takes time to begin. */
const soonestSeconds = 0.02;

export class LongListeningKeeper implements EnginePart {
  readonly #context: EngineContext;
  #worker: Worker | null = null;
  #blind: Comlink.Remote<Blind> | null = null;
  /** Rejects when the worker stops by itself. */
  #failed = new Promise<never>(() => undefined);
  #playingSinceMs: number | null = null;
  #end: ReturnType<typeof setTimeout> | undefined;
  #atStart = false;

  constructor(context: EngineContext) {
    this.#context = context;
    void this.#list();
  }

  follow(before: BenchState, after: BenchState, action: Action): void {
    const was = before.live.long;
    const { long, playing, engine } = after.live;
    if (action.kind !== 'long-listed' && was.listenings !== long.listenings) void this.#keep(was.listenings, long.listenings);
    if (action.kind === 'long-save') this.#save(long.listenings.find(({ id }) => id === action.id));
    if (was.sitting === null && long.sitting !== null) void this.#open(after);
    if (long.sitting !== null && was.sitting?.began === null && long.sitting.began !== null) this.#toStart(after);
    const sounds = engine.kind === 'running' || engine.kind === 'rebuilt';
    const hears = long.sitting?.phase === 'hearing' && playing && sounds;
    if (hears && this.#playingSinceMs === null) this.#began();
    if (!hears && this.#playingSinceMs !== null) this.#paused(long.sitting !== null);
    if (was.sitting !== null && long.sitting === null) this.#close(after);
  }

  /** A new node hears from the worker before it plays. */
  async nodeBuilt(graph: AudioGraph): Promise<void> {
    if (!this.#blind) return;
    const { port1, port2 } = new MessageChannel();
    graph.send({ kind: 'blind', port: port1 }, [port1]);
    await Promise.race([this.#blind.connect(Comlink.transfer(port2, [port2])), this.#failed]);
  }

  dispose(): void {
    clearTimeout(this.#end);
    this.#worker?.terminate();
    this.#worker = null;
    this.#blind = null;
  }

  async #list(): Promise<void> {
    try {
      const listenings = [...await storeAll('sittings')].flatMap(([id, text]): KeptListening[] => {
        try {
          return [{ id, listening: parseLongListening(String(text)).listening }];
        } catch (error) {
          console.warn('a long listening:', error);
          return [];
        }
      });
      listenings.sort((a, b) => (a.listening.date < b.listening.date ? 1 : -1));
      if (listenings.length > 0) this.#context.dispatch({ kind: 'long-listed', listenings });
    } catch {
      // Where nothing may be kept there is nothing yet; it is said when something is to be kept.
    }
  }

  async #keep(before: readonly KeptListening[], after: readonly KeptListening[]): Promise<void> {
    try {
      for (const kept of after) if (!before.includes(kept)) await storeSet('sittings', kept.id, writeLongListening(kept.listening));
      for (const { id } of before) if (!after.some((kept) => kept.id === id)) await storeDelete('sittings', id);
    } catch (error) {
      this.#context.dispatch({ kind: 'message', text: `${sentenceOf(error)} Save the long listening as a file before you leave.`, urgent: true });
    }
  }

  #save(kept: KeptListening | undefined): void {
    if (kept) download(writeLongListening(kept.listening), `${fileStem(kept.listening.compared.setting.setting.title)}.sittings.json`, 'application/json');
  }

  async #open(state: BenchState): Promise<void> {
    const listening = sittingListening(state)!;
    this.#worker = new Worker(new URL('../../../worklets/workers/blind.ts', import.meta.url), { type: 'module', name: 'blind' });
    const worker = this.#worker;
    this.#blind = Comlink.wrap<Blind>(worker);
    // One that cannot be had, or stops, answers nothing.
    this.#failed = new Promise((_, reject) => {
      worker.addEventListener('error', (event) => reject(new Error(event.message || 'its worker stopped')));
    });
    const isOpen = (): boolean => this.#worker === worker;
    this.#failed.catch((error: unknown) => { if (isOpen()) this.#fail(error); });
    try {
      await Promise.race([this.#blind.sit(listening.plan, listening.sittings.length), this.#failed]);
      const graph = this.#context.graph();
      if (isOpen() && graph?.built) await this.nodeBuilt(graph);
      if (isOpen()) this.#context.dispatch({ kind: 'sitting-concealed', concealment: { kind: 'stands' } });
    } catch (error) {
      if (isOpen()) this.#fail(error);
    }
  }

  /** Nothing more of it may be heard. */
  #fail(error: unknown): void {
    const { dispatch, state } = this.#context;
    if (state().live.long.sitting?.concealment.kind === 'failed') return;
    const why = sentenceOf(error);
    dispatch({ kind: 'sitting-concealed', concealment: { kind: 'failed', why } });
    dispatch({ kind: 'message', text: `The sitting cannot be played: ${why}. Leave it and open it again.`, urgent: true });
  }

  #close(state: BenchState): void {
    this.#context.graph()?.send({ kind: 'sighted', trialIn: state.live.trialIn });
    this.dispose();
  }

  #toStart(state: BenchState): void {
    const region = this.#region(state);
    if (!region) return;
    this.#atStart = true;
    const graph = this.#context.graph();
    if (graph?.built) graph.send({ kind: 'seek', frame: region.startFrame });
    else this.#context.readings.positionSeconds = region.startFrame / region.rateHz;
  }

  #region(state: BenchState) {
    const programme = this.#context.programme();
    return programme && { ...regionFrames(programme, state.session.region), rateHz: programme.rateHz };
  }

  #began(): void {
    this.#playingSinceMs = performance.now();
    this.#awaitEnd();
  }

  #paused(tell: boolean): void {
    const seconds = (performance.now() - this.#playingSinceMs!) / 1000;
    this.#playingSinceMs = null;
    clearTimeout(this.#end);
    if (tell) this.#context.dispatch({ kind: 'sitting-heard', seconds });
  }

  /** By the position that sounds, as far as it is known; a page that is not looked at draws no frames, so the meters are asked. */
  #awaitEnd(): void {
    const region = this.#region(this.#context.state());
    if (!region) return;
    // The meters may still show where it stood before it was sent to its start.
    const sounding = this.#atStart ? region.startFrame : this.#context.graph()?.readMeters()?.positionFrame;
    this.#atStart = false;
    const seconds = sounding === undefined ? this.#context.readings.positionSeconds : sounding / region.rateHz;
    const leftSeconds = region.endFrame / region.rateHz - seconds - endMarginSeconds;
    if (leftSeconds <= 0) {
      this.#context.dispatch({ kind: 'sitting-over' });
      return;
    }
    this.#end = setTimeout(() => this.#awaitEnd(), 1000 * Math.max(soonestSeconds, leftSeconds));
  }
}
