// Live worker: programs for the audio thread, harmonics for the value just dragged, reports, level match.
import * as Comlink from 'comlink';
import { loopSpectrumInSteps, matchPathInSteps, type LoopSpectrum, type SteadyMemory } from '../../dsp/measure/index.ts';
import { PathError, planPath, type PathPlan, type PlannedProgram, type RegionFrames } from '../../dsp/path/index.ts';
import { parseWholeWav } from '../../dsp/recording/index.ts';
import { installCompiledCode, type KeyedModule } from '../compiled-code.ts';
import type { LiveAnswer, LiveRequest, MeasuredMatch, PlanAnswer, PlanMessage, Programme } from '../messages.ts';
import { measureRequest, refusal, reportRequest, type ReportMemory } from './live-measurement.ts';
import { ModuleCourier } from './module-courier.ts';
import { runInSlices, type JobControl } from './slices.ts';

/** A measurement this old makes way for a newer value … */
const patienceMilliseconds = 100;
/** … unless the last figures are this old already: the bars must not stand still during a drag. */
const staleMilliseconds = 300;
/** Quiet time after the last change before clip levels are sought. */
const clipDelayMilliseconds = 250;
/** Quiet time after the last change before the match is measured again. */
const matchDelayMilliseconds = 400;
const rememberedPrograms = 128;
/** A plan that has played this long is trusted. */
const trustMilliseconds = 500;

/** Null: compiled code runs here. */
const loopsBecause = installCompiledCode(true);

/** What an audio node is made with, or made anew with. */
export interface NodePlan {
  readonly plan: PathPlan;
  readonly revision: number;
  readonly modules: readonly KeyedModule[];
}

interface Running extends JobControl {
  readonly began: number;
}

class LiveBench {
  #audio: MessagePort | null = null;
  #tell: (answer: LiveAnswer) => void = () => undefined;
  #request: LiveRequest | null = null;
  #plan: PathPlan | null = null;
  /** The newest request has no plan; the last good one plays on. */
  #faulty = false;
  #planRevision = 0;
  /** What played without trouble before the newest plan. */
  #goodPlan: { readonly plan: PathPlan; readonly revision: number } | null = null;
  readonly #courier = new ModuleCourier();
  /** Of both grades: the plan that plays is made first, the one that figures are measured on in the pauses after it. */
  readonly #programs = new Map<string, PlannedProgram>();
  readonly #reports: ReportMemory = new Map();
  readonly #steady: SteadyMemory = new Map();
  #measuring: Running | null = null;
  #measureAgain = false;
  #lastMeasured = -Infinity;
  #clipTimer: ReturnType<typeof setTimeout> | undefined;
  #reporting: JobControl | null = null;
  #matching: JobControl | null = null;
  #spectral: JobControl | null = null;
  #matchOn = true;
  #matchTimer: ReturnType<typeof setTimeout> | undefined;
  #programme: Programme | null = null;
  #region: RegionFrames = { startFrame: 0, endFrame: 0 };

  listen(tell: (answer: LiveAnswer) => void): void {
    this.#tell = tell;
  }

  /** Why this engine runs the readable loops; null: it runs compiled code. */
  loopsBecause(): string | null {
    return loopsBecause;
  }

  /** The way to the audio thread; the newest plan goes there at once. */
  connect(port: MessagePort): void {
    this.#audio?.close();
    this.#audio = port;
    this.#courier.forget();
    port.onmessage = ({ data }: MessageEvent<PlanAnswer>) => this.#landed(data.revision);
    if (this.#plan) this.#sendPlan(this.#plan, this.#planRevision);
  }

  /** The newest plan that could be built, with its revision. */
  newestPlan(): NodePlan | null {
    return this.#plan ? { plan: this.#plan, revision: this.#planRevision, modules: this.#courier.all(this.#plan) } : null;
  }

  /** After a fault of the audio thread: what had played for a while before it. */
  lastGoodPlan(): NodePlan | null {
    return this.#goodPlan ? { ...this.#goodPlan, modules: this.#courier.all(this.#goodPlan.plan) } : this.newestPlan();
  }

  #landed(revision: number): void {
    const plan = this.#plan;
    if (!plan || revision !== this.#planRevision) return;
    setTimeout(() => {
      if (this.#plan === plan) this.#goodPlan = { plan, revision };
    }, trustMilliseconds);
  }

  /** Takes a WAV file as the loop and gives back its samples, exact; the region is in seconds, null for all of it. */
  setProgramme(identifier: string, bytes: Uint8Array, region: { readonly startSeconds: number; readonly endSeconds: number } | null): Programme {
    const { format, channels } = parseWholeWav(bytes);
    const { rateHz, encoding } = format;
    this.#programme = { identifier, rateHz, encoding, channels };
    const frames = channels[0]!.length;
    this.#region = region
      ? { startFrame: Math.round(region.startSeconds * rateHz), endFrame: Math.min(frames, Math.round(region.endSeconds * rateHz)) }
      : { startFrame: 0, endFrame: frames };
    this.#matchLater();
    return this.#programme;
  }

  setRegion(region: RegionFrames): void {
    this.#region = region;
    this.#matchLater();
  }

  /** Of the region that plays, as recorded; null where there is none yet, or where it was asked for anew meanwhile. */
  async spectrum(): Promise<LoopSpectrum | null> {
    if (this.#spectral) this.#spectral.cancelled = true;
    const programme = this.#programme;
    if (!programme) return null;
    const control: JobControl = { cancelled: false };
    this.#spectral = control;
    const { startFrame, endFrame } = this.#region;
    return await runInSlices(loopSpectrumInSteps(programme.channels.map((channel) => channel.subarray(startFrame, endFrame)), programme.rateHz), control);
  }

  setMatch(on: boolean): void {
    this.#matchOn = on;
    this.#matchLater();
  }

  /** Everything the page wants computed for its newest state; what has not changed is not done again. */
  request(request: LiveRequest): void {
    const before = this.#request;
    this.#request = request;
    const pathChanged = !before || request.path !== before.path && JSON.stringify(request.path) !== JSON.stringify(before.path)
      || JSON.stringify(request.joints) !== JSON.stringify(before.joints) || JSON.stringify(request.onTrial) !== JSON.stringify(before.onTrial) || request.baseRateHz !== before.baseRateHz;
    if (pathChanged) this.#faulty = !this.#build(request);
    else if (this.#plan && !this.#faulty && before.revision !== request.revision) this.#sendPlan(this.#plan, request.revision);
    if (this.#faulty) return;
    if (pathChanged) {
      this.#matchLater();
      if (this.#reporting) this.#reporting.cancelled = true;
    }
    void this.#measure();
  }

  #build(request: LiveRequest): boolean {
    try {
      this.#plan = planPath(request.path, request.baseRateHz, { known: this.#programs, joints: request.joints, onTrial: request.onTrial });
    } catch (error) {
      const sentence = error instanceof Error ? error.message : String(error);
      const at = /node "([^"]+)"/.exec(sentence)?.[1] ?? /, at (\S+)/.exec(sentence)?.[1] ?? null;
      this.#tell({ kind: 'fault', revision: request.revision, stageKey: error instanceof PathError ? error.stageKey : '', sentence, at });
      return false;
    }
    for (const identity of this.#programs.keys()) {
      if (this.#programs.size <= rememberedPrograms) break;
      this.#programs.delete(identity);
    }
    this.#sendPlan(this.#plan, request.revision);
    this.#tell({ kind: 'built', revision: request.revision });
    return true;
  }

  #sendPlan(plan: PathPlan, revision: number): void {
    this.#planRevision = revision;
    // Also before there is a node: the press of Play shall have nothing to wait for.
    if (this.#audio) this.#audio.postMessage({ kind: 'plan', plan, revision, modules: this.#courier.take(plan) } satisfies PlanMessage);
    else this.#courier.all(plan);
  }

  /** One measurement at a time, then the newest; then the reports. */
  async #measure(): Promise<void> {
    if (this.#measuring) {
      this.#measureAgain = true;
      const now = performance.now();
      if (now - this.#measuring.began > patienceMilliseconds && now - this.#lastMeasured < staleMilliseconds) this.#measuring.cancelled = true;
      return;
    }
    do {
      this.#measureAgain = false;
      const request = this.#request!;
      const running: Running = { began: performance.now(), cancelled: false };
      this.#measuring = running;
      try {
        const answer = await runInSlices(measureRequest(request, this.#programs, this.#steady), running);
        if (answer) {
          this.#lastMeasured = performance.now();
          this.#tell(answer);
        }
      } catch (error) {
        this.#tell(refusal(request, error instanceof Error ? error.message : String(error)));
      }
      this.#measuring = null;
    } while (this.#measureAgain && !this.#faulty);
    if (this.#faulty) return;
    clearTimeout(this.#clipTimer);
    this.#clipTimer = setTimeout(() => void this.#report(true), clipDelayMilliseconds);
    void this.#report(false);
  }

  async #report(withClipLevels: boolean): Promise<void> {
    if (this.#faulty) return;
    if (this.#reporting) this.#reporting.cancelled = true;
    const control: JobControl = { cancelled: false };
    this.#reporting = control;
    try {
      const answer = await runInSlices(reportRequest(this.#request!, this.#plan!, this.#programs, this.#reports, withClipLevels), control);
      if (answer) this.#tell(answer);
    } catch (error) {
      this.#tell({ kind: 'fault', revision: this.#request!.revision, stageKey: '', sentence: error instanceof Error ? error.message : String(error), at: null });
    }
    for (const identity of this.#reports.keys()) {
      if (this.#reports.size <= rememberedPrograms) break;
      this.#reports.delete(identity);
    }
    if (this.#reporting === control) this.#reporting = null;
  }

  #matchLater(): void {
    clearTimeout(this.#matchTimer);
    if (this.#matching) this.#matching.cancelled = true;
    if (!this.#request || !this.#programme) return;
    if (!this.#matchOn) {
      this.#tellMatch({ kind: 'off' });
      return;
    }
    this.#tellMatch({ kind: 'stale' });
    this.#matchTimer = setTimeout(() => void this.#match(), matchDelayMilliseconds);
  }

  async #match(): Promise<void> {
    const request = this.#request!;
    const programme = this.#programme!;
    const control: JobControl = { cancelled: false };
    this.#matching = control;
    this.#tellMatch({ kind: 'measuring' });
    const { startFrame, endFrame } = this.#region;
    try {
      const result = await runInSlices(matchPathInSteps({
        path: request.path, joints: request.joints, baseRateHz: request.baseRateHz, onTrial: request.onTrial,
        channels: programme.channels.map((channel) => channel.subarray(startFrame, endFrame)),
      }), control);
      if (!result) return;
      const { kind } = result;
      this.#tellMatch(kind === 'matched'
        ? { kind, inGainDb: result.inGainDb, outGainDb: result.outGainDb, residualDb: result.residualDb }
        : { kind, why: result.sentence });
    } catch (error) {
      this.#tellMatch({ kind: 'cannot-match', why: error instanceof Error ? error.message : String(error) });
    } finally {
      if (this.#matching === control) this.#matching = null;
    }
  }

  #tellMatch(match: MeasuredMatch): void {
    this.#tell({ kind: 'matched', revision: this.#request!.revision, match });
  }
}

export type Live = LiveBench;
Comlink.expose(new LiveBench());
