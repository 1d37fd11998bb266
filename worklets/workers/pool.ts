// Pool worker: renders that can be watched and stopped, figures of a whole path.
import * as Comlink from 'comlink';
import { planPath, renderInSteps, type MatchGains, type PathSetting } from '../../dsp/path/index.ts';
import type { StoredJoint } from '../../dsp/setting/index.ts';
import { installCompiledCode } from '../compiled-code.ts';
import type { PathFiguresAnswer, PathFiguresRequest } from '../messages.ts';
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

installCompiledCode(true);

const progressMilliseconds = 16;
const running = new Map<number, JobControl>();
let figuring: JobControl | null = null;
const figuresMemory = emptyFiguresMemory();

const pool = {
  /** The rendered channels, aligned with the input; null when the job was cancelled. Progress (0–1) comes at most every 16 ms. */
  async render(request: RenderJob, onProgress?: (done: number) => void): Promise<Float64Array[] | null> {
    const control: JobControl = { cancelled: false };
    running.set(request.job, control);
    try {
      const plan = planPath(request.path, request.baseRateHz, { joints: request.joints });
      const { passes, gains } = request;
      const steps = renderInSteps(plan, request.channels, { passes, yieldFrames: 256, ...(gains ? { gains } : {}) });
      let told = -Infinity;
      const outputs = await runInSlices(steps, control, (done) => {
        const now = performance.now();
        if (now - told < progressMilliseconds) return;
        told = now;
        onProgress?.(done);
      });
      return outputs && Comlink.transfer(outputs, outputs.map(({ buffer }) => buffer));
    } finally {
      running.delete(request.job);
    }
  },

  /** Figures of a whole path, told one by one; a newer request ends an older one. False when it was ended. */
  async figures(request: PathFiguresRequest, tell: (answer: PathFiguresAnswer) => void): Promise<boolean> {
    if (figuring) figuring.cancelled = true;
    const control: JobControl = { cancelled: false };
    figuring = control;
    return (await runInSlices(pathFigures(request, figuresMemory, tell), control)) !== null;
  },

  cancel(job: number): void {
    const control = running.get(job);
    if (control) control.cancelled = true;
  },
};

export type Pool = typeof pool;
Comlink.expose(pool);
