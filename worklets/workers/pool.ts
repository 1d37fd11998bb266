// Pool worker: renders that can be watched and stopped, what is computed of a whole path, parts of figures.
import * as Comlink from 'comlink';
import { trialHarmonicsInSteps, type TrialHarmonics, type TrialHarmonicsRequest } from '../../dsp/measure/index.ts';
import { playBothWays, type BothWays } from '../../dsp/measure/loop/index.ts';
import { PathError, planPath, renderInSteps, type MatchGains, type OnTrial, type PathSetting } from '../../dsp/path/index.ts';
import type { StoredJoint } from '../../dsp/setting/index.ts';
import { installCompiledCode } from '../compiled-code.ts';
import { CircuitError } from '../../dsp/circuit/index.ts';
import type { FigureLoop, FigurePartAnswer, FigurePartRequest, PathFiguresAnswer, PathFiguresRequest } from '../messages.ts';
import { atMostEvery } from './at-most-every.ts';
import { differenceInSteps, type DifferenceRequest, type FoundDifference } from './difference.ts';
import { emptyFigureMemory, figurePart } from './figure-parts.ts';
import { emptyFiguresMemory, pathFigures } from './path-figures.ts';
import { runInSlices, type JobControl } from './slices.ts';

export interface RenderJob {
  readonly job: number;
  readonly path: PathSetting;
  readonly joints: readonly (StoredJoint | null)[] | null;
  readonly baseRateHz: number;
  readonly channels: readonly Float64Array[];
  readonly passes: number;
  readonly gains?: MatchGains;
}

export interface BothWaysJob {
  readonly job: number;
  readonly path: PathSetting;
  readonly joints: readonly (StoredJoint | null)[] | null;
  readonly baseRateHz: number;
  readonly onTrial: OnTrial;
  /** The stretch that goes round. */
  readonly channels: readonly Float64Array[];
}

/** Or a sentence why the two cannot be made equally loud. */
type WaysAnswer = BothWays | { readonly kind: 'cannot-match'; readonly sentence: string };

installCompiledCode(true);

const progressMilliseconds = 16;
/** Progress that is told in words. */
const spokenMilliseconds = 200;
const running = new Map<number, JobControl>();
let figuring: JobControl | null = null;
const figuresMemory = emptyFiguresMemory();
const figureMemory = emptyFigureMemory();
/** Parts of figures under way, by run; a worker has one at a time, or two while the older hears of its end. */
const measuring = new Map<number, JobControl>();

/** A job that can be cancelled by its number; `tell` gets its progress at most so often. Null when cancelled. */
async function runJob<Result>(job: number, steps: () => Generator<number, Result>, everyMilliseconds: number, tell?: (done: number) => void): Promise<Result | null> {
  const control: JobControl = { cancelled: false };
  running.set(job, control);
  try {
    return await runInSlices(steps(), control, tell && atMostEvery(everyMilliseconds, tell));
  } finally {
    running.delete(job);
  }
}

function buffersOf(channels: readonly Float64Array[]): ArrayBuffer[] {
  return channels.map(({ buffer }) => buffer as ArrayBuffer);
}

const pool = {
  /** The rendered channels, aligned with the input; null when the job was cancelled. Progress (0–1) comes at most every 16 ms. */
  async render(request: RenderJob, onProgress?: (done: number) => void): Promise<Float64Array[] | null> {
    const { passes, gains } = request;
    const steps = () => renderInSteps(planPath(request.path, request.baseRateHz, { joints: request.joints }), request.channels, { passes, yieldFrames: 256, ...(gains ? { gains } : {}) });
    const outputs = await runJob(request.job, steps, progressMilliseconds, onProgress);
    return outputs && Comlink.transfer(outputs, buffersOf(outputs));
  },

  /** What the thing on trial adds; null when the job was cancelled. Rejects with a sentence where it cannot be had. */
  async difference(request: DifferenceRequest, onProgress: (done: number) => void): Promise<FoundDifference | null> {
    const found = await runJob(request.job, () => differenceInSteps(request), spokenMilliseconds, onProgress);
    return found && Comlink.transfer(found, buffersOf(found.channels));
  },

  /** What is on trial, heard both ways over one round of a loop; null when the job was cancelled. Progress as for `render`. */
  async bothWays(request: BothWaysJob, onProgress: (done: number) => void): Promise<WaysAnswer | null> {
    const steps = () => playBothWays(planPath(request.path, request.baseRateHz, { joints: request.joints, onTrial: request.onTrial }), request.channels);
    const ways = await runJob(request.job, steps, progressMilliseconds, onProgress);
    return ways?.kind === 'played' ? Comlink.transfer(ways, buffersOf([...ways.in, ...ways.out])) : ways;
  },

  /** What a document says of the harmonics of what is on trial. */
  async trialHarmonics(request: TrialHarmonicsRequest): Promise<TrialHarmonics> {
    return (await runInSlices(trialHarmonicsInSteps(request), { cancelled: false }))!;
  },

  /** Figures of a whole path, told one by one; a newer request ends an older one. False when it was ended. */
  async figures(request: PathFiguresRequest, tell: (answer: PathFiguresAnswer) => void): Promise<boolean> {
    if (figuring) figuring.cancelled = true;
    const control: JobControl = { cancelled: false };
    figuring = control;
    return (await runInSlices(pathFigures(request, figuresMemory, tell), control)) !== null;
  },

  /** The loop that figures of the music are measured on; once a loop, not once a part. */
  setFigureLoop(loop: FigureLoop | null): void {
    figureMemory.loop = loop;
  },

  /** One part of a figure; what has come of it is told at most every 16 ms. */
  async figurePart(request: FigurePartRequest, tell: (points: unknown) => void): Promise<FigurePartAnswer> {
    const control: JobControl = { cancelled: false };
    measuring.set(request.run, control);
    try {
      const points = await runInSlices(figurePart(request, figureMemory), control, atMostEvery(progressMilliseconds, (some: unknown) => { if (!control.cancelled) tell(some); }));
      return control.cancelled ? { kind: 'cancelled' } : { kind: 'measured', points };
    } catch (error) {
      if (error instanceof RangeError || error instanceof PathError || error instanceof CircuitError) return { kind: 'refused', sentence: error.message };
      throw error;
    } finally {
      measuring.delete(request.run);
    }
  },

  /** Ends what is under way of this run: heard between two slices. */
  cancelFigure(run: number): void {
    const control = measuring.get(run);
    if (control) control.cancelled = true;
  },

  cancel(job: number): void {
    const control = running.get(job);
    if (control) control.cancelled = true;
  },
};

export type Pool = typeof pool;
Comlink.expose(pool);
