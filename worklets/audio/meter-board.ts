import type { PathCounters, PathRunner } from '../../dsp/path/index.ts';
import type { MeterFrame } from '../messages.ts';
import type { MonitorLimiter } from './monitor-limiter.ts';

type Mutable<T> = { -readonly [K in keyof T]: T[K] };

/** The line of meters as it stands, read and its peaks cleared by the shell once a block. Audio thread: allocates nothing. */
export class MeterBoard {
  readonly frame: Mutable<MeterFrame> = {
    positionFrame: 0, pathFrame: 0, peakLeft: 0, peakRight: 0, limiterGain: 1, load: 0, lateBlocks: 0, meanEvaluations: 0, rescues: 0, capHits: 0, nonFinite: 0,
  };
  readonly #counters: PathCounters = { samples: 0, evaluations: 0, rescues: 0, capHits: 0, nonFinite: 0 };

  takePeaks(left: number, right: number): void {
    const { frame } = this;
    frame.peakLeft = Math.max(frame.peakLeft, Math.abs(left));
    frame.peakRight = Math.max(frame.peakRight, Math.abs(right));
  }

  clearPeaks(): void {
    this.frame.peakLeft = 0;
    this.frame.peakRight = 0;
  }

  /** Nothing sounds. */
  rest(positionFrame: number, pathFrame: number): void {
    this.frame.positionFrame = positionFrame;
    this.frame.pathFrame = pathFrame;
    this.frame.limiterGain = 1;
  }

  /** `concealed`: levels and counts, which could tell the sides apart, stay hidden. */
  read(positionFrame: number, runner: PathRunner, limiter: MonitorLimiter, concealed: boolean): void {
    const { frame } = this;
    const counters = this.#counters;
    runner.readCounters(counters);
    frame.positionFrame = positionFrame;
    frame.pathFrame = runner.frame;
    const limiterGain = limiter.takeSmallest();
    if (concealed) {
      this.clearPeaks();
      frame.limiterGain = 1;
      frame.meanEvaluations = 0;
      return;
    }
    frame.limiterGain = limiterGain;
    frame.meanEvaluations = counters.samples > 0 ? counters.evaluations / counters.samples : 0;
    frame.rescues = counters.rescues;
    frame.capHits = counters.capHits;
    frame.nonFinite = counters.nonFinite;
  }
}
