/**
 * Turns changes of the bench's state into messages for the audio thread and the live worker, and their answers into actions. The audio graph
 * is made on the first press of Play; programs, loop and match are made before, so that the press has nothing to wait for.
 */
import * as Comlink from 'comlink';
import { decibelsToRatio, ratioToDecibels } from '../../dsp/math/index.ts';
import { dbuToPeakVolts } from '../../dsp/stages/index.ts';
import type { PlayingLog } from '../../dsp/setting/index.ts';
import type { FromProcessor, LiveAnswer, MeasuredMatch, MeasureRequest, MeasurerAnswer, PathFault, Programme } from '../../worklets/messages.ts';
import type { Live } from '../../worklets/workers/live.ts';
import type { Measuring } from '../../worklets/workers/measurer.ts';
import { BlindComparison } from './engine/blind-comparison.ts';
import { AudioGraph, playRateHz, prefetchProcessor } from './engine/audio-graph.ts';
import { LoopRender } from './engine/loop-render.ts';
import { OpenFigure } from './engine/open-figure.ts';
import { PathFigures } from './engine/path-figures.ts';
import { overviewOf } from './engine/overview.ts';
import { PlayingLogKeeper } from './engine/playing-log.ts';
import { download } from './download.ts';
import { fileStem } from './freeze.ts';
import { hasSections } from './search.ts';
import type { Action, BenchState, Engine, LoopEntry, Readings } from './state.ts';

export interface EngineOptions {
  dispatch(action: Action): void;
  readonly loops: readonly LoopEntry[];
  readonly baseUrl: string;
}

export function createEngine(options: EngineOptions): Engine {
  return new BenchEngine(options);
}

/** Faults of the processor within this time of one another end in silence instead of another node. */
const faultWindowMilliseconds = 5000;
const figuresPerSecond = 5;

class BenchEngine implements Engine {
  readonly readings: Readings = {
    positionSeconds: 0, monitorPeakDb: new Float64Array([-Infinity, -Infinity]), limiterDb: 0, audioLoad: 0, lateBlocks: 0,
    overview: new Float32Array(0), loopSeconds: 0,
  };
  readonly #options: EngineOptions;
  readonly #workers: readonly Worker[];
  readonly #loopRender = new LoopRender();
  readonly #pathFigures = new PathFigures(this.#loopRender.pool, (answer) => this.#options.dispatch(answer), (error) => this.#tellFigures(error));
  readonly #open = new OpenFigure(playRateHz);
  readonly figures = this.#open.feed;
  readonly #live: Comlink.Remote<Live>;
  readonly #measurer: Comlink.Remote<Measuring>;
  #state: BenchState | null = null;
  #graph: AudioGraph | null = null;
  #programme: Programme | null = null;
  #loadingLoop = 0;
  #requesting = false;
  #requestAgain = false;
  #matchSerial = 0;
  #matchGains = { inGain: 1, outGain: 1 };
  #lastFault = -Infinity;
  #rebuiltAfter: string | null = null;
  #frameRequest = 0;
  #figuresTold = 0;
  #nonFiniteTold = 0;
  readonly #blind = new BlindComparison((action) => this.#options.dispatch(action));
  readonly #log = new PlayingLogKeeper();
  #pathFrames = 0;

  constructor(options: EngineOptions) {
    this.#options = options;
    const live = new Worker(new URL('../../worklets/workers/live.ts', import.meta.url), { type: 'module', name: 'live' });
    const measurer = new Worker(new URL('../../worklets/workers/measurer.ts', import.meta.url), { type: 'module', name: 'measurer' });
    this.#workers = [live, measurer];
    this.#live = Comlink.wrap<Live>(live);
    this.#measurer = Comlink.wrap<Measuring>(measurer);
    void this.#live.listen(Comlink.proxy((answer: LiveAnswer) => this.#hearLive(answer)));
    void this.#measurer.listen(Comlink.proxy((answer: MeasurerAnswer) => this.#hearMeasurer(answer)));
    void this.#live.loopsBecause().then((why) => {
      if (why !== null) options.dispatch({ kind: 'loops', why });
    });
    // Should it fail, the press says so.
    prefetchProcessor().catch(() => undefined);
  }

  begin(state: BenchState): void {
    this.#state = state;
    void this.#request();
    this.#wantFigures();
    void this.#loadLoop();
    this.#open.begin(state);
    if (state.live.match.kind === 'off') void this.#measurer.setMatch(false);
  }

  follow(before: BenchState, after: BenchState, action: Action): void {
    if (!this.#state) this.begin(before);
    this.#state = after;
    const { session, live } = after;
    if (asksAnew(before, after)) void this.#request();
    this.#open.follow(before, after);
    if (after.setting.path !== before.setting.path || session.onTrial !== before.session.onTrial) this.#wantFigures();
    if (session.loop !== before.session.loop) void this.#loadLoop();
    else if (session.region !== before.session.region) this.#sendRegion();
    if (live.trialIn !== before.live.trialIn) this.#graph?.send({ kind: 'switch', trialIn: live.trialIn });
    if (live.monitorDb !== before.live.monitorDb) this.#graph?.send({ kind: 'monitor', gain: decibelsToRatio(live.monitorDb) });
    this.#blind.follow(after, action, this.#graph);
    if (action.kind === 'blind-rewind') this.#seek(session.region?.startSeconds ?? 0);
    this.#followTransport(before, after, action);
    if (after.live.rendering !== null && before.live.rendering === null) void this.#renderLoop(after);
    if (after.live.rendering === null && before.live.rendering !== null) this.#loopRender.stop();
    if (wantsSpectrum(after) && (!wantsSpectrum(before) || session.region !== before.session.region)) void this.#sendSpectrum();
    if (action.kind === 'match') void this.#setMatch(action.on);
    if (action.kind === 'seek') this.#seek(action.seconds);
  }

  /** Before the first press there is no node yet; it then begins where the reader has sought. */
  #seek(seconds: number): void {
    if (this.#graph?.built) this.#graph.send({ kind: 'seek', frame: Math.round(seconds * playRateHz) });
    else this.readings.positionSeconds = seconds;
  }

  #followTransport(before: BenchState, after: BenchState, action: Action): void {
    const { live } = after;
    if (action.kind === 'silence') this.#graph?.send({ kind: 'pause' });
    const toneEnded = before.live.tonePlaying && !live.tonePlaying;
    const toneBegan = !before.live.tonePlaying && live.tonePlaying;
    if (toneEnded) this.#graph?.send({ kind: 'tone', tone: null });
    if (before.live.playing && !live.playing) this.#graph?.send({ kind: 'pause' });
    if ((live.playing && !before.live.playing) || toneBegan) {
      if (toneBegan && before.live.toneAsked) this.#tone = before.live.toneAsked;
      if (this.#graph?.built) this.#sendTransport();
      else if (!this.#graph) void this.#start();
    }
  }

  #spectrumSerial = 0;
  #tone: { readonly frequencyHz: number; readonly levelDbu: number } | null = null;

  #sendTransport(): void {
    const { live, setting } = this.#state!;
    if (live.tonePlaying && this.#tone) {
      const peak = dbuToPeakVolts(this.#tone.levelDbu) / dbuToPeakVolts(setting.path.fullScaleDbu);
      this.#graph?.send({ kind: 'tone', tone: { frequencyHz: this.#tone.frequencyHz, peak } });
    } else if (live.playing) {
      this.#graph?.send({ kind: 'play' });
    }
  }

  /** Within a press: makes the context at once, the rest as it comes. */
  async #start(): Promise<void> {
    this.#options.dispatch({ kind: 'engine-state', engine: { kind: 'starting' } });
    try {
      this.#graph = new AudioGraph((message) => this.#hearAudio(message));
      await this.#buildNode(await this.#live.newestPlan());
    } catch (error) {
      this.#fail(`No sound: ${sentenceOf(error)}. Reload the page, or try another browser.`);
    }
  }

  async #buildNode(planned: Awaited<ReturnType<Comlink.Remote<Live>['newestPlan']>>): Promise<void> {
    const graph = this.#graph!;
    if (!planned) throw new Error('there is no circuit that could be built yet');
    const { live } = this.#state!;
    // Read before the new node's meters come, which begin at 0.
    const frame = Math.round(this.readings.positionSeconds * playRateHz);
    const { port1, port2 } = new MessageChannel();
    await graph.build({ ...planned, trialIn: live.trialIn, monitorGain: decibelsToRatio(live.monitorDb) }, port1);
    this.#open.attach(graph);
    await this.#live.connect(Comlink.transfer(port2, [port2]));
    this.#sendProgramme(frame);
    const present = this.#state!.live;
    graph.send({ kind: 'switch', trialIn: present.trialIn });
    graph.send({ kind: 'monitor', gain: decibelsToRatio(present.monitorDb) });
    this.#sendMatch();
    await this.#blind.join(graph);
    this.#sendTransport();
    if (this.#frameRequest === 0) this.#frameRequest = requestAnimationFrame((now) => this.#frame(now));
  }

  #hearAudio(message: FromProcessor): void {
    this.#log.hear(message);
    switch (message.kind) {
      case 'ready':
        if (!message.compiled && this.#state?.live.loopsBecause === null) this.#options.dispatch({ kind: 'loops', why: 'no compiled code on its audio thread' });
        if (this.#rebuiltAfter === null) this.#options.dispatch({ kind: 'engine-state', engine: { kind: 'running' } });
        else {
          const sentence = `The audio processor stopped (${this.#rebuiltAfter}) and was built anew; the last good circuit plays.`;
          this.#options.dispatch({ kind: 'engine-state', engine: { kind: 'rebuilt', sentence } });
        }
        return;
      case 'landed':
        this.#options.dispatch({ kind: 'sounding', revision: message.revision });
        return;
      case 'match-applied':
        if (message.serial === this.#matchSerial) this.#options.dispatch({ kind: 'match-applied' });
        return;
      case 'refused':
        this.#options.dispatch({ kind: 'message', text: `This circuit could not be played: ${message.sentence}. The last good one plays on.`, urgent: true });
        return;
      case 'fault':
        void this.#rebuild(message.sentence);
    }
  }

  async #rebuild(sentence: string): Promise<void> {
    const now = performance.now();
    const again = now - this.#lastFault < faultWindowMilliseconds;
    this.#lastFault = now;
    this.#graph?.drop();
    if (again) {
      this.#fail(`The audio processor stopped twice (${sentence}). Change a value, then press Play.`);
      return;
    }
    this.#rebuiltAfter = sentence;
    try {
      await this.#buildNode(await this.#live.lastGoodPlan());
    } catch (error) {
      this.#fail(`No sound: ${sentenceOf(error)}. Reload the page.`);
    }
  }

  #fail(sentence: string): void {
    this.#open.attach(null);
    void this.#graph?.close();
    this.#graph = null;
    this.#rebuiltAfter = null;
    this.#options.dispatch({ kind: 'engine-state', engine: { kind: 'failed', sentence } });
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
        this.#hearMatch(answer.revision, answer.match);
    }
  }

  #hearFault({ revision, stageKey, sentence, at }: PathFault): void {
    this.#options.dispatch({ kind: 'fault', revision, fault: { stageKey, sentence, at } });
  }

  #hearMatch(revision: number, match: MeasuredMatch): void {
    if (match.kind !== 'matched') {
      this.#options.dispatch({ kind: 'matched', revision, match });
      return;
    }
    this.#matchGains = { inGain: decibelsToRatio(match.inGainDb), outGain: decibelsToRatio(match.outGainDb) };
    this.#options.dispatch({ kind: 'matched', revision, match: { ...match, waitsForSwitch: this.#graph?.built === true } });
    this.#sendMatch();
  }

  #sendMatch(): void {
    this.#matchSerial += 1;
    this.#graph?.send({ kind: 'match', ...this.#matchGains, serial: this.#matchSerial });
  }

  async #setMatch(on: boolean): Promise<void> {
    if (!on) {
      this.#matchGains = { inGain: 1, outGain: 1 };
      this.#sendMatch();
    }
    await this.#measurer.setMatch(on);
  }

  /** One request under way at a time; meanwhile the newest state waits. */
  async #request(): Promise<void> {
    if (this.#requesting) {
      this.#requestAgain = true;
      return;
    }
    this.#requesting = true;
    try {
      do {
        this.#requestAgain = false;
        const request = requestOf(this.#state!);
        this.#log.remember(request);
        void this.#measurer.request(request);
        await this.#live.request(request);
      } while (this.#requestAgain);
    } catch (error) {
      this.#options.dispatch({ kind: 'message', text: `This change could not be computed: ${sentenceOf(error)}. Undo it, or reload the page.`, urgent: true });
    } finally {
      this.#requesting = false;
    }
  }

  async #loadLoop(): Promise<void> {
    const { session } = this.#state!;
    const entry = this.#options.loops.find(({ identifier }) => identifier === session.loop);
    if (!entry) return;
    this.#loadingLoop += 1;
    const serial = this.#loadingLoop;
    try {
      const answer = await fetch(new URL(entry.file, this.#options.baseUrl));
      if (!answer.ok) throw new Error(`${entry.file}: ${answer.status} ${answer.statusText}`);
      const bytes = new Uint8Array(await answer.arrayBuffer());
      if (serial !== this.#loadingLoop) return;
      const { region } = this.#state!.session;
      const programme = await this.#measurer.setProgramme(entry.identifier, Comlink.transfer(bytes, [bytes.buffer]), region);
      if (serial !== this.#loadingLoop) return;
      if (programme.rateHz !== playRateHz) throw new Error(`${entry.file}: expected ${playRateHz} Hz, got ${programme.rateHz} Hz`);
      this.#programme = programme;
      this.readings.overview = overviewOf(programme.channels);
      this.readings.loopSeconds = programme.channels[0]!.length / programme.rateHz;
      this.readings.positionSeconds = 0;
      this.#sendProgramme(0);
      this.#open.setProgramme(programme, entry.title, this.#state!);
      if (this.#state!.session.region !== region) void this.#measurer.setRegion(this.#region(programme));
      if (wantsSpectrum(this.#state!)) void this.#sendSpectrum();
    } catch (error) {
      this.#options.dispatch({ kind: 'message', text: `The loop could not be loaded: ${sentenceOf(error)}. Choose another, or reload the page.`, urgent: true });
    }
  }

  #sendProgramme(frame: number): void {
    const programme = this.#programme;
    if (programme) this.#graph?.send({ kind: 'programme', channels: programme.channels, region: this.#region(programme), frame });
  }

  #sendRegion(): void {
    const programme = this.#programme;
    if (!programme) return;
    const region = this.#region(programme);
    this.#graph?.send({ kind: 'region', region });
    void this.#measurer.setRegion(region);
  }

  /** What is behind an equaliser's curve, for whoever looks at one. */
  async #sendSpectrum(): Promise<void> {
    this.#spectrumSerial += 1;
    const serial = this.#spectrumSerial;
    const spectrum = await this.#measurer.spectrum();
    if (spectrum && serial === this.#spectrumSerial) this.#options.dispatch({ kind: 'spectrum', spectrum });
  }

  #region({ channels, rateHz }: Programme): { readonly startFrame: number; readonly endFrame: number } {
    const { region } = this.#state!.session;
    const frames = channels[0]!.length;
    if (!region) return { startFrame: 0, endFrame: frames };
    return { startFrame: Math.round(region.startSeconds * rateHz), endFrame: Math.min(frames, Math.round(region.endSeconds * rateHz)) };
  }

  /** Once a frame: meters into readings; figures of the solver a few times a second. */
  #frame(now: number): void {
    this.#frameRequest = requestAnimationFrame((next) => this.#frame(next));
    const meters = this.#graph?.readMeters();
    if (!meters) return;
    const { readings } = this;
    readings.positionSeconds = meters.positionFrame / playRateHz;
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

  async #renderLoop({ setting, session }: BenchState): Promise<void> {
    const { dispatch } = this.#options;
    try {
      if (!this.#programme) throw new Error('the loop is not loaded yet');
      const rendered = await this.#loopRender.render(setting, this.#programme, (done) => dispatch({ kind: 'rendering', done }));
      if (!rendered) return;
      const { file, clippedSamples } = rendered;
      const name = `${session.loop}-through-${fileStem(setting.title)}.wav`;
      download(file, name, 'audio/wav');
      dispatch({ kind: 'message', text: `Rendered as ${name}${clippedSamples > 0 ? `; ${clippedSamples} samples beyond full scale are clipped` : ''}`, urgent: false });
    } catch (error) {
      dispatch({ kind: 'message', text: `Not rendered: ${sentenceOf(error)}.`, urgent: true });
    } finally {
      dispatch({ kind: 'rendering', done: null });
    }
  }

  #wantFigures(): void {
    const { setting, session, live } = this.#state!;
    this.#pathFigures.want({ revision: live.revision, path: setting.path, onTrial: session.onTrial, baseRateHz: playRateHz });
  }

  /** A path that cannot be built is told of by the live worker. */
  #tellFigures(error: unknown): void {
    if (this.#state?.live.fault === null) this.#options.dispatch({ kind: 'message', text: `Figures of the whole path are missing: ${sentenceOf(error)}.`, urgent: false });
  }

  playingLog(): PlayingLog | null {
    return this.#log.log(this.#programme?.identifier ?? '', playRateHz, this.#pathFrames);
  }

  async dispose(): Promise<void> {
    cancelAnimationFrame(this.#frameRequest);
    for (const worker of this.#workers) worker.terminate();
    this.#pathFigures.dispose();
    this.#open.dispose();
    this.#loopRender.dispose();
    await this.#graph?.close();
    this.#graph = null;
  }
}

/** Whether the open stage shows a loop's spectrum behind its curve. */
function wantsSpectrum({ setting, session }: BenchState): boolean {
  const stage = setting.path.stages.find(({ key }) => key === session.openStageKey);
  return stage !== undefined && hasSections(stage.values);
}

/** Whether the live worker has something new to compute. */
function asksAnew(before: BenchState, after: BenchState): boolean {
  const a = before.session;
  const b = after.session;
  return after.live.revision !== before.live.revision || after.setting.path !== before.setting.path || after.setting.joints !== before.setting.joints || a.onTrial !== b.onTrial
    || a.probe !== b.probe || a.scope !== b.scope || (b.scope === 'stage' && a.openStageKey !== b.openStageKey);
}

function requestOf({ setting, session, live }: BenchState): MeasureRequest {
  return {
    revision: live.revision, path: setting.path, joints: setting.joints, baseRateHz: playRateHz, onTrial: session.onTrial, probe: session.probe, scope: session.scope,
    openStageKey: session.openStageKey,
  };
}

function sentenceOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
