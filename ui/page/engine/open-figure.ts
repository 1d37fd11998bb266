/** Follows the state to what the open plate is to show, and has it measured. */
import { factsOfSetting, figureViewById } from '../../../dsp/measure/figures/index.ts';
import type { RegionFrames } from '../../../dsp/path/index.ts';
import type { FigureLoop, Programme } from '../../../worklets/messages.ts';
import { regionFrames, regionSamples } from '../../../worklets/region-frames.ts';
import { FigureFeed } from '../figure-feed.ts';
import { figureScope, figureValues } from '../kept-figures.ts';
import { openingLive } from '../opening.ts';
import type { BenchState } from '../state.ts';
import { FigureRuns, workersFor } from './figures.ts';
import type { FigureWant } from './figures.ts';
import { makeFigureWorker, shareChannels } from './figure-worker.ts';
import { LiveFigure } from './live-figure.ts';
import { SpectrumFeed, type TappedGraph } from './spectrum-feed.ts';

/** Spectra a second: as often as a reader sees, or as often as one who wants no motion bears. */
const [spectraPerSecond, calmPerSecond] = [30, 4] as const;

export class OpenFigure {
  readonly feed = new FigureFeed();
  readonly #runs: FigureRuns;
  readonly #spectrum: SpectrumFeed;
  readonly #live: LiveFigure;
  #loop: FigureLoop | null = null;
  #rateHz = openingLive.baseRateHz;
  /** Of the recording: the loop's first one. */
  #firstFrame = 0;
  #loopSerial = 0;

  constructor() {
    this.#spectrum = new SpectrumFeed({ rateHz: () => this.#rateHz, perSecond: () => (matchMedia('(prefers-reduced-motion: reduce)').matches ? calmPerSecond : spectraPerSecond) });
    this.#live = new LiveFigure(this.#spectrum, this.feed, () => performance.now());
    this.#runs = new FigureRuns({
      makeWorker: () => makeFigureWorker(() => this.#loop),
      mostWorkers: workersFor(navigator.hardwareConcurrency),
      feed: this.feed,
      clock: {
        nowMs: () => performance.now(),
        after: (ms, then) => {
          const timer = setTimeout(then, ms);
          return () => clearTimeout(timer);
        },
        frame: (then) => {
          const request = requestAnimationFrame(then);
          return () => cancelAnimationFrame(request);
        },
      },
    });
    this.#runs.prepare();
  }

  begin(state: BenchState): void {
    if (state.session.figures.open !== null) this.#ask(state);
  }

  follow(before: BenchState, after: BenchState): void {
    if (asksAnew(before, after)) this.#ask(after);
  }

  /** Another loop is on the bench; views of the music begin anew. */
  setProgramme(programme: Programme, title: string, state: BenchState): void {
    this.#loopSerial += 1;
    this.#firstFrame = programme.firstFrame;
    this.#loop = { serial: this.#loopSerial, title, rateHz: programme.rateHz, channels: shareChannels(programme.channels) };
    if (ofMusic(state)) this.#ask(state);
  }

  /** There is another audio node; null: none. */
  attach(graph: TappedGraph | null): void {
    this.#spectrum.attach(graph);
  }

  dispose(): void {
    this.#runs.dispose();
    this.#spectrum.dispose();
  }

  /** What plays is listened to, everything else is measured. */
  #ask(state: BenchState): void {
    this.#rateHz = state.live.baseRateHz;
    const want = this.#wantOf(state);
    const live = want?.view.live === true;
    if (!live) this.#live.want(null);
    this.#runs.want(live ? null : want);
    if (live) this.#live.want(want);
  }

  #wantOf(state: BenchState): FigureWant | null {
    const { setting, session } = state;
    const view = session.figures.open === null ? undefined : figureViewById(session.figures.open);
    if (!view) return null;
    const { path, joints, baseRateHz } = setting;
    const scope = figureScope(state);
    const region = ofMusic(state) ? this.#region(session.region) : null;
    const programme = region && this.#loop
      ? { title: this.#loop.title, rateHz: this.#loop.rateHz, startSeconds: (this.#firstFrame + region.startFrame) / this.#loop.rateHz, channels: regionSamples({ channels: this.#loop.channels, firstFrame: 0 }, region) }
      : null;
    return {
      view, values: figureValues(state, view.id), path, joints, baseRateHz, scope,
      programme: region && this.#loop ? { serial: this.#loop.serial, ...region } : null,
      facts: factsOfSetting({ path, baseRateHz, scope, programme }),
    };
  }

  /** In frames of the loop in memory. */
  #region(region: BenchState['session']['region']): RegionFrames | null {
    if (!this.#loop) return null;
    const { startFrame, endFrame } = regionFrames({ ...this.#loop, firstFrame: this.#firstFrame }, region);
    return { startFrame: startFrame - this.#firstFrame, endFrame: endFrame - this.#firstFrame };
  }
}

function ofMusic({ session }: BenchState): boolean {
  const view = session.figures.open === null ? undefined : figureViewById(session.figures.open);
  return view !== undefined && (view.needs === 'programme' || view.live === true);
}

/** Whether the open figure is another one than before, or of something else. */
function asksAnew(before: BenchState, after: BenchState): boolean {
  const a = before.session.figures;
  const b = after.session.figures;
  if (b.open === null) return a.open !== null;
  if (a.open !== b.open || a.scope !== b.scope || a.values[b.open] !== b.values[b.open]) return true;
  if (before.setting.path !== after.setting.path || before.setting.joints !== after.setting.joints || before.setting.baseRateHz !== after.setting.baseRateHz) return true;
  if (b.scope === 'stage' && before.session.openStageKey !== after.session.openStageKey) return true;
  return ofMusic(after) && before.session.region !== after.session.region;
}
