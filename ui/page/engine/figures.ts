/**
 * Measures the open figure in pool workers: cuts it into parts, gives each free worker the next one, draws what has come at most once a frame. The newest
 * request wins; what came of older ones is dropped.
 */
import type { AnyFigureView, Figure, FigureFacts } from '../../../dsp/measure/figures/index.ts';
import type { FigurePartAnswer, FigurePartRequest } from '../../../worklets/messages.ts';
import type { FigureFeed } from '../figure-feed.ts';

/** What is to be measured, as far as it does not depend on the part. */
export type FigureWant = Omit<FigurePartRequest, 'run' | 'view' | 'part'> & { readonly view: AnyFigureView; readonly facts: FigureFacts };

/** A worker as it is used here. */
export interface FigureWorker {
  figurePart(request: FigurePartRequest, tell: (points: unknown) => void): Promise<FigurePartAnswer>;
  cancelFigure(run: number): void;
  terminate(): void;
}

export interface FigureClock {
  nowMs(): number;
  /** Calls back once after so many ms; gives the way to call it off. */
  after(ms: number, then: () => void): () => void;
  /** Calls back before the next frame is drawn; gives the way to call it off. */
  frame(then: () => void): () => void;
}

/** Quiet time after the last change of a value. */
export const quietMs = 150;
/** A figure that was done within this is measured anew at once, one after the other. */
export const cheapMs = 80;
/** A figure on screen stands whole until the new one is; one that takes longer than this is drawn of what has come. */
export const wholeMs = 300;

/**
 * One core is left to sound: as many workers as there are others, at least one. Each has its own compiled circuits, some megabytes; more than sixteen would
 * be slower to begin than to measure.
 */
export function workersFor(hardwareConcurrency: number): number {
  return Math.min(16, Math.max(1, hardwareConcurrency - 1));
}

interface Run {
  readonly serial: number;
  readonly want: FigureWant;
  readonly parts: readonly unknown[];
  readonly points: unknown[];
  /** Parts of which all has come: what was told on the way may come later than the answer, for it has a port of its own. */
  readonly settled: Set<number>;
  readonly beganMs: number;
  /** Parts that nobody has yet, by number. */
  readonly waiting: number[];
  done: number;
  arrived: boolean;
  readonly workers: Set<FigureWorker>;
}

export class FigureRuns {
  readonly #makeWorker: () => FigureWorker;
  #mostWorkers: number;
  readonly #feed: FigureFeed;
  readonly #clock: FigureClock;
  readonly #idle: FigureWorker[] = [];
  readonly #workers = new Set<FigureWorker>();
  /** Those that have answered once. */
  readonly #proven = new WeakSet<FigureWorker>();
  #serial = 0;
  #want: FigureWant | null = null;
  #run: Run | null = null;
  /** What the figure on screen was measured of; null where none is, or not all of it. */
  #whole: FigureWant | null = null;
  #lastMs = Infinity;
  /** Since when there has been a change that no run was begun for. */
  #unservedMs: number | null = null;
  #stopTimer: () => void = () => undefined;
  #stopFrame: (() => void) | null = null;

  constructor(options: { makeWorker(): FigureWorker; readonly mostWorkers: number; readonly feed: FigureFeed; readonly clock: FigureClock }) {
    this.#makeWorker = () => options.makeWorker();
    this.#mostWorkers = options.mostWorkers;
    this.#feed = options.feed;
    this.#clock = options.clock;
  }

  /** One worker at once, so that figures can be had off the network too; the others are made when they are needed. */
  prepare(): void {
    if (this.#workers.size > 0) return;
    const worker = this.#makeWorker();
    this.#workers.add(worker);
    this.#idle.push(worker);
  }

  /** From now on this figure; null: none. */
  want(want: FigureWant | null): void {
    const before = this.#want;
    this.#want = want;
    this.#stopTimer();
    if (want === null || want.view.id !== before?.view.id) {
      this.#cancel();
      this.#whole = null;
      this.#lastMs = Infinity;
      this.#feed.show(null);
    }
    if (want === null) return;
    const refusal = want.view.refuse(want.facts, want.values);
    if (refusal !== null) {
      this.#refuse(want, refusal);
      return;
    }
    this.#feed.show({ view: want.view.id, figure: this.#shownOf(want.view.id), ...this.#progress(), updating: true, refusal: null });
    const now = this.#clock.nowMs();
    this.#unservedMs ??= now;
    // What is measured at present is seen through while values go on changing; quiet ends it.
    if (this.#run === null && (this.#whole === null || this.#lastMs <= cheapMs || now - this.#unservedMs >= quietMs)) this.#begin();
    else this.#stopTimer = this.#clock.after(quietMs, () => this.#begin());
  }

  dispose(): void {
    this.want(null);
    for (const worker of this.#workers) worker.terminate();
    this.#workers.clear();
    this.#idle.length = 0;
  }

  #shownOf(viewId: string): Figure | null {
    const { shown } = this.#feed;
    return shown?.view === viewId ? shown.figure : null;
  }

  #progress(): { readonly done: number; readonly parts: number } {
    return { done: this.#run?.done ?? 0, parts: this.#run?.parts.length ?? 0 };
  }

  #begin(): void {
    const want = this.#want!;
    this.#cancel();
    this.#stopTimer();
    let parts: readonly unknown[];
    try {
      parts = want.view.split(want.facts, want.values, this.#mostWorkers);
    } catch (error) {
      this.#refuse(want, sentenceOf(error));
      return;
    }
    this.#serial += 1;
    const run: Run = { serial: this.#serial, want, parts, points: parts.map(() => undefined), settled: new Set(), beganMs: this.#clock.nowMs(), waiting: [...parts.keys()], done: 0, arrived: false, workers: new Set() };
    this.#run = run;
    this.#unservedMs = null;
    if (parts.length === 0) this.#finish(run);
    else this.#assign();
  }

  /** A worker for each part that nobody has yet, as far as there are workers; those of a run that was ended come when they have heard of it. */
  #assign(): void {
    const run = this.#run;
    for (let left = run?.waiting.length ?? 0; run && left > 0; left -= 1) {
      const worker = this.#idle.pop() ?? (this.#workers.size < this.#mostWorkers ? this.#makeWorker() : null);
      if (!worker) return;
      this.#workers.add(worker);
      void this.#work(run, worker);
    }
  }

  /** One worker, part after part, until there is none left or the run is over. */
  async #work(run: Run, worker: FigureWorker): Promise<void> {
    const { view, facts: _, ...rest } = run.want;
    run.workers.add(worker);
    let index = 0;
    try {
      while (this.#run === run && run.waiting.length > 0) {
        index = run.waiting.shift()!;
        const part = index;
        const request = { ...rest, run: run.serial, view: view.id, part: run.parts[part] };
        const answer = await worker.figurePart(request, (points) => { if (!run.settled.has(part)) this.#arrive(run, part, points); });
        this.#proven.add(worker);
        if (this.#run !== run || answer.kind === 'cancelled') break;
        if (answer.kind === 'refused') this.#refuse(run.want, answer.sentence);
        else this.#take(run, part, answer.points);
      }
      this.#idle.push(worker);
    } catch (error) {
      this.#workers.delete(worker);
      worker.terminate();
      // One that never answered could not be had, off the network for instance; those that can do its part.
      if (!this.#proven.has(worker) && this.#workers.size > 0) {
        this.#mostWorkers = this.#workers.size;
        if (this.#run === run) run.waiting.unshift(index);
      } else if (this.#run === run) this.#refuse(run.want, `This figure could not be measured: ${sentenceOf(error)}.`);
    }
    run.workers.delete(worker);
    this.#assign();
  }

  #take(run: Run, index: number, points: unknown): void {
    run.done += 1;
    run.settled.add(index);
    this.#arrive(run, index, points);
    if (run.done === run.parts.length) this.#finish(run);
  }

  #arrive(run: Run, index: number, points: unknown): void {
    if (this.#run !== run) return;
    run.points[index] = points;
    run.arrived = true;
    this.#stopFrame ??= this.#clock.frame(() => {
      this.#stopFrame = null;
      if (this.#run === run) this.#draw(run);
    });
  }

  /** What has come; a whole figure on screen gives way only to a whole one, or when the new one takes long. */
  #draw(run: Run): void {
    const { view, facts, values } = run.want;
    const asked = { view: view.id, done: run.done, parts: run.parts.length, updating: true, refusal: null };
    const stands = this.#whole !== null && this.#clock.nowMs() - run.beganMs < wholeMs;
    if (stands || !run.arrived) {
      this.#feed.show({ ...asked, figure: this.#shownOf(view.id) });
      return;
    }
    const figure = this.#drawn(run, () => view.draw(facts, values, run.points));
    if (figure) this.#feed.show({ ...asked, figure });
  }

  #finish(run: Run): void {
    const { want } = run;
    const { view, facts, values } = want;
    this.#stopFrame?.();
    this.#stopFrame = null;
    const figure = this.#drawn(run, () => view.draw(facts, values, run.points));
    this.#run = null;
    if (!figure) return;
    this.#lastMs = this.#clock.nowMs() - run.beganMs;
    this.#whole = want;
    const newest = this.#want === want;
    this.#feed.show({ view: view.id, figure, done: run.done, parts: run.parts.length, updating: !newest, refusal: null });
    if (!newest) this.#begin();
  }

  #drawn(run: Run, draw: () => Figure): Figure | null {
    try {
      return draw();
    } catch (error) {
      this.#refuse(run.want, sentenceOf(error));
      return null;
    }
  }

  #refuse(want: FigureWant, sentence: string): void {
    this.#cancel();
    this.#whole = null;
    this.#feed.show({ view: want.view.id, figure: null, done: 0, parts: 0, updating: false, refusal: sentence });
  }

  #cancel(): void {
    this.#stopFrame?.();
    this.#stopFrame = null;
    const run = this.#run;
    this.#run = null;
    if (run) for (const worker of run.workers) worker.cancelFigure(run.serial);
  }
}

function sentenceOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
