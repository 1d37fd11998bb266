// Measuring worker: harmonics for the value just dragged, reports, level match, spectrum of the loop.
import * as Comlink from 'comlink';
import { loopSpectrumInSteps, matchPathInSteps, type LoopSpectrum, type SteadyMemory } from '../../dsp/measure/index.ts';
import { PathError, type PlannedProgram, type RegionFrames } from '../../dsp/path/index.ts';
import { installCompiledCode } from '../compiled-code.ts';
import { regionFrames, regionSamples } from '../region-frames.ts';
import type { MeasuredMatch, MeasureRequest, MeasurerAnswer, Programme } from '../messages.ts';
import { measureRequest, refusal, reportRequest, type ReportMemory } from './live-measurement.ts';
import { samePath, sameTrial } from './same-path.ts';
import { runInSlices, type JobControl } from './slices.ts';

/** A measurement this old makes way for a newer value … */
const patienceMilliseconds = 100;
/** … unless the last figures are this old already: the bars must not stand still during a drag. */
const staleMilliseconds = 300;
/** Quiet time after the last change before clip levels are sought. */
const clipDelayMilliseconds = 250;
/** Quiet time after the last change before the match is measured again. */
const matchDelayMilliseconds = 400;
const remembered = 128;

installCompiledCode(true);

interface Running extends JobControl {
  readonly began: number;
}

class Measurer {
  #tell: (answer: MeasurerAnswer) => void = () => undefined;
  #request: MeasureRequest | null = null;
  readonly #programs = new Map<string, PlannedProgram>();
  readonly #reports: ReportMemory = new Map();
  readonly #steady: SteadyMemory = new Map();
  #measuring: Running | null = null;
  #measureAgain = false;
  #lastMeasured = -Infinity;
  #clipTimer: ReturnType<typeof setTimeout> | undefined;
  #reporting: JobControl | null = null;
  #matching: JobControl | null = null;
  #excerpting: JobControl | null = null;
  #spectral: JobControl | null = null;
  #matchOn = true;
  #matchTimer: ReturnType<typeof setTimeout> | undefined;
  #programme: Programme | null = null;
  #region: RegionFrames = { startFrame: 0, endFrame: 0 };

  listen(tell: (answer: MeasurerAnswer) => void): void {
    this.#tell = tell;
  }

  /** What is heard, and what of it plays. */
  setProgramme(programme: Programme, region: RegionFrames): void {
    this.#programme = programme;
    this.#region = region;
    this.#matchLater();
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
    return await runInSlices(loopSpectrumInSteps(regionSamples(programme, this.#region), programme.rateHz), control);
  }

  setMatch(on: boolean): void {
    this.#matchOn = on;
    this.#matchLater();
  }

  /** Everything the page wants measured of its newest state. */
  request(request: MeasureRequest): void {
    const before = this.#request;
    this.#request = request;
    if (!before || !sameTrial(before, request)) this.#matchLater();
    if ((!before || !samePath(before, request)) && this.#reporting) this.#reporting.cancelled = true;
    void this.#measure();
  }

  /** One measurement at a time, then the newest; then the reports. */
  async #measure(): Promise<void> {
    if (this.#measuring) {
      this.#measureAgain = true;
      const now = performance.now();
      if (now - this.#measuring.began > patienceMilliseconds && now - this.#lastMeasured < staleMilliseconds) this.#measuring.cancelled = true;
      return;
    }
    let unbuilt = false;
    do {
      unbuilt = false;
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
        // Of a path that cannot be built the live worker tells; the figures of the last good one stand.
        unbuilt = error instanceof PathError;
        if (!unbuilt) this.#tell(refusal(request, error instanceof Error ? error.message : String(error)));
      }
      this.#measuring = null;
    } while (this.#measureAgain);
    if (unbuilt) return;
    clearTimeout(this.#clipTimer);
    this.#clipTimer = setTimeout(() => void this.#report(true), clipDelayMilliseconds);
    void this.#report(false);
  }

  async #report(withClipLevels: boolean): Promise<void> {
    if (this.#reporting) this.#reporting.cancelled = true;
    const control: JobControl = { cancelled: false };
    this.#reporting = control;
    try {
      const answer = await runInSlices(reportRequest(this.#request!, this.#programs, this.#reports, withClipLevels), control);
      if (answer) this.#tell(answer);
    } catch (error) {
      this.#tell({ kind: 'fault', revision: this.#request!.revision, stageKey: '', sentence: error instanceof Error ? error.message : String(error), at: null });
    }
    for (const kept of [this.#reports, this.#programs]) {
      for (const identity of kept.keys()) {
        if (kept.size <= remembered) break;
        kept.delete(identity);
      }
    }
    if (this.#reporting === control) this.#reporting = null;
  }

  /**
   * The match of each of these parts of the loop by itself, in their order, for one gain over all of them; a sentence that begins with "excerpt n" where one cannot be matched. Null where
   * there is no loop yet, or where it was asked for anew meanwhile.
   */
  async matchExcerpts(regions: readonly { readonly startSeconds: number; readonly endSeconds: number }[]): Promise<readonly { readonly inGainDb: number; readonly outGainDb: number }[] | string | null> {
    if (this.#excerpting) this.#excerpting.cancelled = true;
    const programme = this.#programme;
    const request = this.#request;
    if (!programme || !request) return null;
    const control: JobControl = { cancelled: false };
    this.#excerpting = control;
    const matches: { readonly inGainDb: number; readonly outGainDb: number }[] = [];
    for (const [index, region] of regions.entries()) {
      const result = await runInSlices(this.#matchOf(request, programme, regionFrames(programme, region)), control);
      if (!result) return null;
      if (result.kind !== 'matched') return `excerpt ${index + 1}: ${result.sentence}`;
      matches.push({ inGainDb: result.inGainDb, outGainDb: result.outGainDb });
    }
    return matches;
  }

  #matchLater(): void {
    clearTimeout(this.#matchTimer);
    if (this.#matching) this.#matching.cancelled = true;
    // At another rate than the path's there is nothing to match: either is about to follow the other.
    if (!this.#request || !this.#programme || this.#programme.rateHz !== this.#request.baseRateHz) return;
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
    try {
      const result = await runInSlices(this.#matchOf(request, programme, this.#region), control);
      if (!result) return;
      const { kind } = result;
      this.#tellMatch(kind === 'matched'
        ? { kind, inGainDb: result.inGainDb, outGainDb: result.outGainDb, residualDb: result.residualDb, differences: result.differences }
        : { kind, why: result.sentence });
    } catch (error) {
      this.#tellMatch({ kind: 'cannot-match', why: error instanceof Error ? error.message : String(error) });
    } finally {
      if (this.#matching === control) this.#matching = null;
    }
  }

  #matchOf({ path, joints, baseRateHz, onTrial, pair }: MeasureRequest, programme: Programme, region: RegionFrames): ReturnType<typeof matchPathInSteps> {
    const compared = pair === null ? { path, joints } : { ...pair[0], against: pair[1] };
    return matchPathInSteps({ ...compared, baseRateHz, onTrial, channels: regionSamples(programme, region) });
  }

  #tellMatch(match: MeasuredMatch): void {
    this.#tell({ kind: 'matched', revision: this.#request!.revision, match });
  }
}

export type Measuring = Measurer;
Comlink.expose(new Measurer());
