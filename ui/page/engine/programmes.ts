/** What is heard through the path: loads the loop that is chosen, keeps its region with everybody who needs it. */
import * as Comlink from 'comlink';
import type { RegionFrames } from '../../../dsp/path/index.ts';
import type { Programme } from '../../../worklets/messages.ts';
import { hasSections } from '../search.ts';
import { sentenceOf } from '../sentence.ts';
import type { Action, BenchState, LoopEntry } from '../state.ts';
import type { AudioGraph } from './audio-graph.ts';
import type { EngineContext, EnginePart } from './contract.ts';
import type { OpenFigure } from './open-figure.ts';
import { overviewOf } from './overview.ts';

export class Programmes implements EnginePart {
  readonly #context: EngineContext;
  readonly #loops: readonly LoopEntry[];
  readonly #baseUrl: string;
  readonly #figure: OpenFigure;
  #programme: Programme | null = null;
  #loading = 0;
  #spectrumSerial = 0;

  constructor(context: EngineContext, { loops, baseUrl }: { readonly loops: readonly LoopEntry[]; readonly baseUrl: string }, figure: OpenFigure) {
    this.#context = context;
    this.#loops = loops;
    this.#baseUrl = baseUrl;
    this.#figure = figure;
  }

  get programme(): Programme | null {
    return this.#programme;
  }

  begin(): void {
    void this.#load();
  }

  follow(before: BenchState, after: BenchState, action: Action): void {
    const { session } = after;
    if (session.loop !== before.session.loop) void this.#load();
    else if (session.region !== before.session.region) this.#sendRegion();
    if (wantsSpectrum(after) && (!wantsSpectrum(before) || session.region !== before.session.region)) void this.#sendSpectrum();
    if (action.kind === 'seek' && !after.live.input.sounding) this.#seek(action.seconds);
    if (action.kind === 'blind-rewind') this.#seek(session.region?.startSeconds ?? 0);
  }

  /** To a new node, which goes on from this frame. */
  send(graph: AudioGraph | null, frame: number): void {
    const programme = this.#programme;
    if (programme) graph?.send({ kind: 'programme', channels: programme.channels, region: this.#region(programme), frame });
  }

  /** Before the first press there is no node yet; it then begins where the reader has sought. */
  #seek(seconds: number): void {
    const graph = this.#context.graph();
    if (graph?.built) graph.send({ kind: 'seek', frame: Math.round(seconds * this.#context.state().live.baseRateHz) });
    else this.#context.readings.positionSeconds = seconds;
  }

  async #load(): Promise<void> {
    const { dispatch, measurer, readings } = this.#context;
    const { session, live } = this.#context.state();
    const entry = this.#loops.find(({ identifier }) => identifier === session.loop);
    if (!entry) return;
    this.#loading += 1;
    const serial = this.#loading;
    try {
      const answer = await fetch(new URL(entry.file, this.#baseUrl));
      if (!answer.ok) throw new Error(`${entry.file}: ${answer.status} ${answer.statusText}`);
      const bytes = new Uint8Array(await answer.arrayBuffer());
      if (serial !== this.#loading) return;
      const { region } = this.#context.state().session;
      const programme = await measurer.setProgramme(entry.identifier, Comlink.transfer(bytes, [bytes.buffer]), region);
      if (serial !== this.#loading) return;
      if (programme.rateHz !== live.baseRateHz) throw new Error(`${entry.file}: expected ${live.baseRateHz} Hz, got ${programme.rateHz} Hz`);
      this.#programme = programme;
      const { channels, rateHz } = programme;
      const frames = channels[0]!.length;
      readings.overview = overviewOf(channels);
      readings.loopSeconds = frames / rateHz;
      readings.positionSeconds = 0;
      dispatch({ kind: 'programme', programme: { title: entry.title, rateHz, channels: channels.length === 2 ? 2 : 1, frames } });
      this.send(this.#context.graph(), 0);
      const state = this.#context.state();
      this.#figure.setProgramme(programme, entry.title, state);
      if (state.session.region !== region) void measurer.setRegion(this.#region(programme));
      if (wantsSpectrum(state)) void this.#sendSpectrum();
    } catch (error) {
      dispatch({ kind: 'message', text: `The loop could not be loaded: ${sentenceOf(error)}. Choose another, or reload the page.`, urgent: true });
    }
  }

  #sendRegion(): void {
    const programme = this.#programme;
    if (!programme) return;
    const region = this.#region(programme);
    this.#context.graph()?.send({ kind: 'region', region });
    void this.#context.measurer.setRegion(region);
  }

  /** What is behind an equaliser's curve, for whoever looks at one. */
  async #sendSpectrum(): Promise<void> {
    this.#spectrumSerial += 1;
    const serial = this.#spectrumSerial;
    const spectrum = await this.#context.measurer.spectrum();
    if (spectrum && serial === this.#spectrumSerial) this.#context.dispatch({ kind: 'spectrum', spectrum });
  }

  #region({ channels, rateHz }: Programme): RegionFrames {
    const { region } = this.#context.state().session;
    const frames = channels[0]!.length;
    if (!region) return { startFrame: 0, endFrame: frames };
    return { startFrame: Math.round(region.startSeconds * rateHz), endFrame: Math.min(frames, Math.round(region.endSeconds * rateHz)) };
  }
}

/** Whether the open stage shows a loop's spectrum behind its curve. */
function wantsSpectrum({ setting, session }: BenchState): boolean {
  const stage = setting.path.stages.find(({ key }) => key === session.openStageKey);
  return stage !== undefined && hasSections(stage.values);
}
