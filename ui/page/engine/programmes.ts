/** What is heard through the path: brings the recording that is chosen into memory, keeps its region with everybody who needs it. */
import { decibelsToRatio, ratioToDecibels } from '../../../dsp/math/index.ts';
import type { RegionFrames } from '../../../dsp/path/index.ts';
import { overviewColumns, overviewPeak } from '../../../dsp/recording/index.ts';
import type { Programme } from '../../../worklets/messages.ts';
import { regionFrames } from '../../../worklets/region-frames.ts';
import { holds, mostCopiedSamples, mostSharedSamples, windowRound } from '../bench-window.ts';
import { hasSections } from '../search.ts';
import { sentenceOf } from '../sentence.ts';
import type { Action, BenchState, LoopEntry } from '../state.ts';
import type { AudioGraph } from './audio-graph.ts';
import type { EngineContext, EnginePart } from './contract.ts';
import type { OpenFigure } from './open-figure.ts';
import type { OpenedRecording, RecordingFiles } from './recording-files.ts';
import { sayFailure } from './say-failure.ts';

/** A recording that can be brought into memory. */
export interface BenchRecording extends OpenedRecording {
  readonly title: string;
  readonly origin: 'demo' | 'own';
}

export interface ProgrammeSources {
  readonly loops: readonly LoopEntry[];
  readonly baseUrl: string;
  readonly files: RecordingFiles;
  /** A file of the listener's own that is open; null: none of this identifier is. */
  ownRecording(loop: string): BenchRecording | null;
}

/** Columns of the overview. */
const columns = 600;
const notMeasured = 'Nothing can be measured on this loop';

export class Programmes implements EnginePart {
  readonly #context: EngineContext;
  readonly #sources: ProgrammeSources;
  readonly #figure: OpenFigure;
  readonly #demos = new Map<string, BenchRecording>();
  /** What `#programme` is a stretch of. */
  #recording: BenchRecording | null = null;
  #programme: Programme | null = null;
  /** Of the newest loop that was chosen. */
  #loading = 0;
  /** Of the newest stretch that was asked for, and what it is of while it is under way. */
  #bringing = 0;
  #coming: { readonly recording: BenchRecording; readonly identifier: string } | null = null;
  #spectrumSerial = 0;

  constructor(context: EngineContext, sources: ProgrammeSources, figure: OpenFigure) {
    this.#context = context;
    this.#sources = sources;
    this.#figure = figure;
  }

  get programme(): Programme | null {
    return this.#programme;
  }

  begin(): void {
    void this.#load();
  }

  follow(before: BenchState, after: BenchState, action: Action): void {
    const { session, live } = after;
    if (session.loop !== before.session.loop) void this.#load();
    else if (live.material.trimDb !== before.live.material.trimDb) this.#bringAnew(this.#positionFrame);
    else if (session.region !== before.session.region) this.#moveRegion();
    if (live.material.view !== before.live.material.view) this.#draw();
    if (wantsSpectrum(after) && (!wantsSpectrum(before) || session.region !== before.session.region)) this.#sendSpectrum();
    if (action.kind === 'seek' && !live.input.sounding) this.#seek(action.seconds);
  }

  /** To a new node, which goes on from this frame. */
  send(graph: AudioGraph | null, frame: number): void {
    const programme = this.#programme;
    if (programme) graph?.send({ kind: 'programme', channels: programme.channels, firstFrame: programme.firstFrame, region: this.#region(programme), frame });
  }

  get #positionFrame(): number {
    return Math.round(this.#context.readings.positionSeconds * (this.#programme?.rateHz ?? 0));
  }

  /** Before the first press there is no node yet; it then begins where the reader has sought. */
  #seek(seconds: number): void {
    const programme = this.#programme;
    const graph = this.#context.graph();
    const frame = Math.round(seconds * (programme?.rateHz ?? 0));
    if (programme && !holds(windowOf(programme), { startFrame: frame, endFrame: frame + 1 })) this.#bringAnew(frame);
    else if (graph?.built) graph.send({ kind: 'seek', frame });
    else this.#context.readings.positionSeconds = seconds;
  }

  async #load(): Promise<void> {
    this.#loading += 1;
    const serial = this.#loading;
    // What is still on its way was chosen before.
    this.#bringing += 1;
    this.#coming = null;
    const { loop } = this.#context.state().session;
    try {
      const recording = this.#sources.ownRecording(loop) ?? await this.#demo(loop);
      if (recording && serial === this.#loading) await this.#bring(recording, loop, 0);
    } catch (error) {
      if (serial !== this.#loading) return;
      this.#context.dispatch({ kind: 'message', text: `The loop could not be loaded: ${sentenceOf(error)}. Choose another, or reload the page.`, urgent: true });
    }
  }

  async #demo(loop: string): Promise<BenchRecording | null> {
    const known = this.#demos.get(loop);
    if (known) return known;
    const { loops, baseUrl, files } = this.#sources;
    const entry = loops.find(({ identifier }) => identifier === loop);
    if (!entry) return null;
    const answer = await fetch(new URL(entry.file, baseUrl));
    if (!answer.ok) throw new Error(`${entry.file}: ${answer.status} ${answer.statusText}`);
    const opened = await files.open(await answer.blob(), () => undefined);
    if (!opened) return null;
    const recording: BenchRecording = { ...opened, title: entry.title, origin: 'demo' };
    this.#demos.set(loop, recording);
    return recording;
  }

  /** Another stretch of the same recording, or the same one by another gain. */
  #bringAnew(frame: number): void {
    const identifier = this.#coming?.identifier ?? this.#programme?.identifier;
    if (identifier === undefined) return;
    // An own file may have been opened again.
    const recording = this.#sources.ownRecording(identifier) ?? this.#coming?.recording ?? this.#recording;
    if (!recording) return;
    this.#bring(recording, identifier, frame).catch((error: unknown) => {
      this.#context.dispatch({ kind: 'message', text: `${recording.title} could not be read on: ${sentenceOf(error)}.`, urgent: true });
    });
  }

  /** Into memory round its region, or from `frame` on, and to everybody. */
  async #bring(recording: BenchRecording, identifier: string, frame: number): Promise<void> {
    this.#bringing += 1;
    const serial = this.#bringing;
    this.#coming = { recording, identifier };
    try {
      await this.#place(recording, identifier, frame, () => serial === this.#bringing);
    } finally {
      if (serial === this.#bringing) this.#coming = null;
    }
  }

  async #place(recording: BenchRecording, identifier: string, frame: number, isCurrent: () => boolean): Promise<void> {
    const { rateHz, channels: channelCount, encoding, overview, key, title, origin, readBy, sha256 } = recording;
    const before = this.#context.state();
    const trimDb = before.live.material.trimDb ?? 0;
    const most = globalThis.crossOriginIsolated ? mostSharedSamples : mostCopiedSamples;
    const window = windowRound({ frames: overview.frames, channels: channelCount }, framesOf(before, rateHz), frame, most);
    const channels = await this.#sources.files.stretch(key, window.startFrame, window.endFrame - window.startFrame, decibelsToRatio(trimDb));
    if (!channels || !isCurrent()) return;
    const programme: Programme = { identifier, rateHz, encoding, channels, firstFrame: window.startFrame };
    this.#recording = recording;
    this.#programme = programme;
    const { readings, dispatch, measurer } = this.#context;
    const region = this.#region(programme);
    const from = frame >= region.startFrame && frame < region.endFrame ? frame : region.startFrame;
    readings.loopSeconds = overview.frames / rateHz;
    readings.positionSeconds = from / rateHz;
    // Before anyone hears of it: what is measured from then on is of this one.
    sayFailure(this.#context, measurer.setProgramme(programme, region), notMeasured);
    dispatch({ kind: 'programme', programme: { title, rateHz, channels: channelCount, frames: overview.frames, onBench: window, encoding, origin, readBy, sha256, trimDb } });
    this.#draw();
    this.send(this.#context.graph(), from);
    const state = this.#context.state();
    this.#figure.setProgramme(programme, title, state);
    this.#tellPeak();
    if (wantsSpectrum(state)) this.#sendSpectrum();
  }

  #moveRegion(): void {
    const programme = this.#programme;
    if (!programme) return;
    const wanted = framesOf(this.#context.state(), programme.rateHz);
    this.#tellPeak();
    if (wanted && !holds(windowOf(programme), wanted)) {
      this.#bringAnew(wanted.startFrame);
      return;
    }
    const region = this.#region(programme);
    this.#context.graph()?.send({ kind: 'region', region });
    sayFailure(this.#context, this.#context.measurer.setRegion(region), notMeasured);
  }

  #draw(): void {
    const programme = this.#programme;
    const recording = this.#recording;
    if (!programme || !recording) return;
    const { overview, rateHz } = recording;
    const { view } = this.#context.state().live.material;
    const { startFrame, endFrame } = view ? { startFrame: Math.round(view.startSeconds * rateHz), endFrame: Math.round(view.endSeconds * rateHz) } : { startFrame: 0, endFrame: overview.frames };
    // A trim lowers what is heard, not what the file looks like.
    this.#context.readings.overview = overviewColumns(overview, startFrame, endFrame, columns, programme);
  }

  /** Of an own file, as recorded: whether it would clip the path depends on it. */
  #tellPeak(): void {
    if (this.#recording?.origin !== 'own' || !this.#programme) return;
    const { startFrame, endFrame } = this.#region(this.#programme);
    this.#context.dispatch({ kind: 'region-peak', peakDbfs: ratioToDecibels(overviewPeak(this.#recording.overview, startFrame, endFrame)) });
  }

  /** What is behind an equaliser's curve, for whoever looks at one. */
  #sendSpectrum(): void {
    this.#spectrumSerial += 1;
    const serial = this.#spectrumSerial;
    sayFailure(this.#context, this.#context.measurer.spectrum().then((spectrum) => {
      if (spectrum && serial === this.#spectrumSerial) this.#context.dispatch({ kind: 'spectrum', spectrum });
    }), 'The spectrum of the loop is missing');
  }

  #region(programme: Programme): RegionFrames {
    return regionFrames(programme, this.#context.state().session.region);
  }
}

function windowOf({ firstFrame, channels }: Programme): RegionFrames {
  return { startFrame: firstFrame, endFrame: firstFrame + channels[0]!.length };
}

/** The region in frames of the recording, wherever they are. */
function framesOf({ session: { region } }: BenchState, rateHz: number): RegionFrames | null {
  return region && { startFrame: Math.round(region.startSeconds * rateHz), endFrame: Math.round(region.endSeconds * rateHz) };
}

/** Whether the open stage shows a loop's spectrum behind its curve. */
function wantsSpectrum({ setting, session }: BenchState): boolean {
  const stage = setting.path.stages.find(({ key }) => key === session.openStageKey);
  return stage !== undefined && hasSections(stage.values);
}
