/**
 * Turns changes of the bench's state into messages for the audio thread and the live worker, and their answers into actions. The audio graph
 * is made on the first press of Play; programs, loop and match are made before, so that the press has nothing to wait for.
 */
import * as Comlink from 'comlink';
import { decibelsToRatio, ratioToDecibels } from '../../dsp/math/index.ts';
import { dbuToPeakVolts } from '../../dsp/stages/index.ts';
import type { PlayingLog } from '../../dsp/setting/index.ts';
import type { FromProcessor, LiveAnswer, MeasureRequest, MeasurerAnswer, PathFault } from '../../worklets/messages.ts';
import type { Live } from '../../worklets/workers/live.ts';
import type { Measuring } from '../../worklets/workers/measurer.ts';
import type { Pool } from '../../worklets/workers/pool.ts';
import { AudioGraph, outputDeviceHz, prefetchProcessor } from './engine/audio-graph.ts';
import { BlindComparison } from './engine/blind-comparison.ts';
import type { EngineContext, EnginePart } from './engine/contract.ts';
import { Demonstration } from './engine/demonstration.ts';
import { Difference } from './engine/difference.ts';
import { GraphKeeper } from './engine/graph-keeper.ts';
import { Hearing } from './engine/hearing.ts';
import { LevelMatch } from './engine/level-match.ts';
import { LiveInput } from './engine/live-input.ts';
import { LongListeningKeeper } from './engine/long-listening.ts';
import { LoopRender } from './engine/loop-render.ts';
import { Materials } from './engine/materials.ts';
import { OpenFigure } from './engine/open-figure.ts';
import { PathFigures } from './engine/path-figures.ts';
import { PlayingLogKeeper } from './engine/playing-log.ts';
import { Report } from './engine/report.ts';
import { Programmes } from './engine/programmes.ts';
import { sayFailure } from './engine/say-failure.ts';
import { Tickets } from './engine/tickets.ts';
import { RecordingFiles } from './engine/recording-files.ts';
import type { FigureFeed } from './figure-feed.ts';
import { openingLive } from './opening.ts';
import { pairAsked, samePair } from './pair.ts';
import { sentenceOf } from './sentence.ts';
import type { Action, BenchState, Engine, LoopEntry, Readings } from './state.ts';

export interface EngineOptions {
  dispatch(action: Action): void;
  readonly loops: readonly LoopEntry[];
  readonly baseUrl: string;
}

export function createEngine(options: EngineOptions): Engine {
  return new BenchEngine(options);
}

const figuresPerSecond = 5;
/** As loud as the loops: that of a sine at −20 dBFS. */
const referenceNoiseRms = 0.1 / Math.SQRT2;

class BenchEngine implements Engine {
  readonly readings: Readings = {
    positionSeconds: 0, monitorPeakDb: new Float64Array([-Infinity, -Infinity]), limiterDb: 0, audioLoad: 0, lateBlocks: 0,
    overview: new Float32Array(0), loopSeconds: 0, input: { peak: 0, heldSeconds: 0 },
  };
  readonly #options: EngineOptions;
  readonly #workers: readonly Worker[];
  readonly #context: EngineContext;
  readonly #pathFigures: PathFigures;
  readonly #open: OpenFigure;
  readonly #keeper: GraphKeeper;
  readonly figures: FigureFeed;
  readonly #match: LevelMatch;
  readonly #programmes: Programmes;
  readonly #materials: Materials;
  readonly #blind: BlindComparison;
  /** Every concern that follows the state by itself. */
  readonly #parts: readonly EnginePart[];
  #state: BenchState | null = null;
  #requesting = false;
  /** Settled once the live worker has what was asked last. */
  #asked: Promise<void> = Promise.resolve();
  #requestAgain = false;
  #frameRequest = 0;
  #figuresTold = 0;
  #nonFiniteTold = 0;
  readonly #log = new PlayingLogKeeper();
  #pathFrames = 0;

  constructor(options: EngineOptions) {
    this.#options = options;
    // All made at once: after loading, the page asks the network for nothing.
    const live = new Worker(new URL('../../worklets/workers/live.ts', import.meta.url), { type: 'module', name: 'live' });
    const measurer = new Worker(new URL('../../worklets/workers/measurer.ts', import.meta.url), { type: 'module', name: 'measurer' });
    const pool = new Worker(new URL('../../worklets/workers/pool.ts', import.meta.url), { type: 'module', name: 'pool' });
    this.#workers = [live, measurer, pool];
    let jobs = 0;
    this.#context = {
      dispatch: (action) => options.dispatch(action),
      state: () => this.#state!,
      graph: () => this.#graph,
      programme: () => this.#programmes.programme,
      readings: this.readings,
      live: Comlink.wrap<Live>(live),
      measurer: Comlink.wrap<Measuring>(measurer),
      pool: Comlink.wrap<Pool>(pool),
      newJob: () => (jobs += 1),
    };
    this.#pathFigures = new PathFigures(this.#context.pool, (answer) => options.dispatch(answer), (error) => this.#tellFigures(error));
    this.#open = new OpenFigure();
    this.figures = this.#open.feed;
    this.#keeper = new GraphKeeper({
      dispatch: (action) => options.dispatch(action),
      state: () => this.#state!,
      live: this.#context.live,
      makeGraph: (rateHz) => new AudioGraph(rateHz, (message) => this.#hearAudio(message)),
      asked: () => this.#asked,
      frame: () => Math.round(this.readings.positionSeconds * this.#state!.live.baseRateHz),
      attach: (graph) => this.#open.attach(graph),
      tell: (graph, frame) => this.#tellNode(graph, frame),
      joined: () => this.#nodeJoined(),
    });
    this.#match = new LevelMatch(this.#context);
    const files = new RecordingFiles();
    this.#materials = new Materials(this.#context, files);
    this.#programmes = new Programmes(this.#context, { ...options, files, ownRecording: (loop) => this.#materials.recording(loop) }, this.#open);
    this.#blind = new BlindComparison(this.#context, this.#match);
    this.#parts = [this.#programmes, this.#materials, this.#match, this.#blind, new LoopRender(this.#context), new Tickets(this.#context, options.loops), new Demonstration(this.#context), new Report(this.#context), new Difference(this.#context), new Hearing(this.#context), new LiveInput(this.#context), new LongListeningKeeper(this.#context)];
    void this.#context.live.listen(Comlink.proxy((answer: LiveAnswer) => this.#hearLive(answer)));
    void this.#context.measurer.listen(Comlink.proxy((answer: MeasurerAnswer) => this.#hearMeasurer(answer)));
    void this.#context.live.loopsBecause().then((why) => {
      if (why !== null) options.dispatch({ kind: 'loops', why });
    });
    // Should it fail, the press says so.
    prefetchProcessor().catch(() => undefined);
  }

  begin(state: BenchState): void {
    this.#state = state;
    this.#request();
    this.#wantFigures();
    this.#programmes.begin();
    void this.#materials.begin();
    this.#open.begin(state);
    this.#match.begin(state);
  }

  follow(before: BenchState, after: BenchState, action: Action): void {
    if (!this.#state) this.begin(before);
    this.#state = after;
    const { session, live } = after;
    if (asksAnew(before, after)) this.#request();
    // What was heard was of the one before.
    if (live.programme !== before.live.programme) this.#log.end();
    if (live.baseRateHz !== before.live.baseRateHz) this.#keeper.changeRate();
    this.#open.follow(before, after);
    if (after.setting.path !== before.setting.path || session.onTrial !== before.session.onTrial || live.revision !== before.live.revision || live.baseRateHz !== before.live.baseRateHz) this.#wantFigures();
    if (live.trialIn !== before.live.trialIn) this.#graph?.send({ kind: 'switch', trialIn: live.trialIn });
    if (live.monitorDb !== before.live.monitorDb) this.#graph?.send({ kind: 'monitor', gain: decibelsToRatio(live.monitorDb) });
    for (const part of this.#parts) part.follow(before, after, action);
    this.#followTransport(before, after, action);
  }

  get #graph(): AudioGraph | null {
    return this.#keeper.graph;
  }

  #followTransport(before: BenchState, after: BenchState, action: Action): void {
    const { live } = after;
    if (action.kind === 'silence') this.#graph?.send({ kind: 'pause' });
    const toneEnded = before.live.tonePlaying && !live.tonePlaying;
    const toneBegan = !before.live.tonePlaying && live.tonePlaying;
    if (toneEnded) this.#graph?.send({ kind: 'tone', tone: null });
    if (before.live.playing && !live.playing) this.#graph?.send({ kind: 'pause' });
    if ((live.playing && !before.live.playing) || toneBegan) {
      // What is played by a node that is being told hears of it at the end of that.
      if (this.#keeper.joined) this.#sendTransport();
      else if (!this.#graph) this.#keeper.start();
      else this.#graph.wake();
    }
  }

  #sendTransport(): void {
    const { live, setting } = this.#state!;
    const tone = live.tonePlaying ? live.tone : null;
    if (tone?.kind === 'noise') {
      this.#graph?.send({ kind: 'reference-noise', rms: referenceNoiseRms });
    } else if (tone?.kind === 'sine') {
      const peak = dbuToPeakVolts(tone.levelDbu) / dbuToPeakVolts(setting.path.fullScaleDbu);
      this.#graph?.send({ kind: 'tone', tone: { frequencyHz: tone.frequencyHz, peak } });
    } else if (live.playing) {
      this.#graph?.send({ kind: 'play' });
    }
  }

  /** Everything that a new node must know before it plays. */
  *#tellNode(graph: AudioGraph, frame: number): Generator<void | Promise<void>, void, void> {
    this.#programmes.send(graph, frame);
    const { live } = this.#state!;
    graph.send({ kind: 'switch', trialIn: live.trialIn });
    graph.send({ kind: 'monitor', gain: decibelsToRatio(live.monitorDb) });
    for (const part of this.#parts) yield part.nodeBuilt?.(graph);
  }

  #nodeJoined(): void {
    this.#sendTransport();
    this.#options.dispatch({ kind: 'output-device', deviceHz: outputDeviceHz() });
    if (this.#frameRequest === 0) this.#frameRequest = requestAnimationFrame((now) => this.#frame(now));
  }

  #hearAudio(message: FromProcessor): void {
    this.#log.hear(message);
    for (const part of this.#parts) part.hear?.(message);
    switch (message.kind) {
      case 'ready':
        if (!message.compiled && this.#state?.live.loopsBecause === null) this.#options.dispatch({ kind: 'loops', why: 'no compiled code on its audio thread' });
        if (this.#keeper.rebuiltAfter === null) this.#options.dispatch({ kind: 'engine-state', engine: { kind: 'running' } });
        else {
          const sentence = `The audio processor stopped (${this.#keeper.rebuiltAfter}) and was built anew; the last good circuit plays.`;
          this.#options.dispatch({ kind: 'engine-state', engine: { kind: 'rebuilt', sentence } });
        }
        return;
      case 'landed':
        this.#options.dispatch({ kind: 'sounding', revision: message.revision });
        return;
      case 'refused':
        this.#options.dispatch({ kind: 'message', text: `This circuit could not be played: ${message.sentence}. The last good one plays on.`, urgent: true });
        return;
      case 'fault':
        this.#keeper.rebuild(message.sentence);
    }
  }

  #hearLive(answer: LiveAnswer): void {
    const { dispatch } = this.#options;
    if (answer.kind === 'fault') {
      this.#hearFault(answer);
      return;
    }
    const { revision, rules } = answer;
    if (this.#state?.live.fault) dispatch({ kind: 'fault', revision, fault: null });
    dispatch({ kind: 'ruled', revision, rules });
    if (!this.#graph?.built) dispatch({ kind: 'sounding', revision });
  }

  #hearMeasurer(answer: MeasurerAnswer): void {
    const { dispatch } = this.#options;
    switch (answer.kind) {
      case 'fault':
        this.#hearFault(answer);
        return;
      case 'measured': {
        const { kind, ...harmonics } = answer;
        dispatch({ kind, harmonics });
        return;
      }
      case 'reported':
        dispatch(answer);
        return;
      case 'matched':
        this.#match.take(answer.revision, answer.match);
    }
  }

  #hearFault({ revision, stageKey, sentence, at }: PathFault): void {
    this.#options.dispatch({ kind: 'fault', revision, fault: { stageKey, sentence, at } });
  }

  /** One request under way at a time; meanwhile the newest state waits. */
  #request(): void {
    if (this.#requesting) this.#requestAgain = true;
    else this.#asked = this.#ask();
  }

  async #ask(): Promise<void> {
    this.#requesting = true;
    try {
      do {
        this.#requestAgain = false;
        const request = requestOf(this.#state!);
        this.#log.remember(request);
        sayFailure(this.#context, this.#context.measurer.request(request), 'Nothing could be measured of this change');
        await this.#context.live.request(request);
      } while (this.#requestAgain);
    } catch (error) {
      this.#options.dispatch({ kind: 'message', text: `This change could not be computed: ${sentenceOf(error)}. Undo it, or reload the page.`, urgent: true });
    } finally {
      this.#requesting = false;
    }
  }

  /** Once a frame: meters into readings; figures of the solver a few times a second. */
  #frame(now: number): void {
    this.#frameRequest = requestAnimationFrame((next) => this.#frame(next));
    const meters = this.#graph?.readMeters();
    if (!meters) return;
    const { readings } = this;
    readings.positionSeconds = meters.positionFrame / this.#state!.live.baseRateHz;
    readings.monitorPeakDb[0] = ratioToDecibels(meters.peakLeft);
    readings.monitorPeakDb[1] = ratioToDecibels(meters.peakRight);
    readings.limiterDb = meters.limiterGain < 1 ? -ratioToDecibels(meters.limiterGain) : 0;
    readings.audioLoad = meters.load;
    readings.lateBlocks = meters.lateBlocks;
    this.#pathFrames = meters.pathFrame;
    if (now - this.#figuresTold < 1000 / figuresPerSecond || !this.#state) return;
    this.#figuresTold = now;
    const { meanEvaluations, rescues, capHits, nonFinite } = meters;
    const before = this.#state.live.solver;
    if (Math.abs(meanEvaluations - before.meanEvaluations) >= 0.05 || rescues !== before.rescues || capHits !== before.capHits) {
      this.#options.dispatch({ kind: 'solver', solver: { meanEvaluations, rescues, capHits } });
    }
    if (nonFinite > this.#nonFiniteTold) {
      this.#options.dispatch({ kind: 'message', text: 'A stage left the numbers and was muted for a moment; it has started afresh.', urgent: true });
    }
    this.#nonFiniteTold = nonFinite;
  }

  #wantFigures(): void {
    const { setting, session, live } = this.#state!;
    this.#pathFigures.want({ revision: live.revision, path: setting.path, onTrial: session.pair === null ? session.onTrial : null, baseRateHz: live.baseRateHz });
  }

  /** A path that cannot be built is told of by the live worker. */
  #tellFigures(error: unknown): void {
    if (this.#state?.live.fault === null) this.#options.dispatch({ kind: 'message', text: `Figures of the whole path are missing: ${sentenceOf(error)}.`, urgent: false });
  }

  playingLog(): PlayingLog | null {
    return this.#log.log(this.#programmes.programme?.identifier ?? '', this.#state?.live.baseRateHz ?? openingLive.baseRateHz, this.#pathFrames);
  }

  async dispose(): Promise<void> {
    cancelAnimationFrame(this.#frameRequest);
    for (const worker of this.#workers) worker.terminate();
    this.#pathFigures.dispose();
    this.#open.dispose();
    for (const part of this.#parts) part.dispose?.();
    await this.#keeper.dispose();
  }
}

/** Whether the live worker has something new to compute. */
function asksAnew(before: BenchState, after: BenchState): boolean {
  const a = before.session;
  const b = after.session;
  return after.live.revision !== before.live.revision || after.setting.path !== before.setting.path || after.setting.joints !== before.setting.joints || a.onTrial !== b.onTrial || !samePair(before, after)
    || a.probe !== b.probe || a.scope !== b.scope || (b.scope === 'stage' && a.openStageKey !== b.openStageKey);
}

function requestOf(state: BenchState): MeasureRequest {
  const { setting, session, live } = state;
  return {
    revision: live.revision, path: setting.path, joints: setting.joints, baseRateHz: live.baseRateHz, onTrial: session.onTrial, pair: pairAsked(state), probe: session.probe, scope: session.scope,
    openStageKey: session.openStageKey,
  };
}
