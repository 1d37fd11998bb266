/** The parts of a figure, measured in this thread and, where they take long, in others of this machine; the points do not depend on how many there are. */
import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { setImmediate } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { Worker } from 'node:worker_threads';
import { factsOf } from '../../dsp/measure/figures/index.ts';
import type { AnyFigureView, FigureSubject } from '../../dsp/measure/figures/index.ts';
import type { StageValues } from '../../dsp/stages/index.ts';
import { InputFailure } from './failure.ts';
import { finished } from './finished.ts';

/** All that a thread needs to know once. */
export interface FigureWork {
  readonly view: string;
  readonly subject: FigureSubject;
  readonly values: StageValues;
}

export interface PartMessage {
  readonly index: number;
  readonly part: unknown;
}

export type PartAnswer = { readonly index: number; readonly points: unknown } | { readonly index: number; readonly refused: string };

/** Less is over before another thread has started. */
const worthThreadsMilliseconds = 400;

/** One part; what a view finds out while measuring is a sentence for the reader. */
export function measuredPart(view: AnyFigureView, { subject, values }: FigureWork, part: unknown): unknown {
  try {
    return finished(view.measure(subject, values, part));
  } catch (error) {
    throw error instanceof RangeError ? new InputFailure(error.message) : error;
  }
}

/** Points of every part, in the order of `split`, by so many threads, this one among them; null: by as many as the machine runs at once, once it shows that it takes long. @throws InputFailure with the view's sentence */
export async function measureParts(view: AnyFigureView, work: FigureWork, wanted: number | null, onProgress: (done: number) => void): Promise<unknown[]> {
  const workers = wanted ?? availableParallelism();
  const parts: readonly unknown[] = view.split(factsOf(work.subject), work.values, workers);
  const points: unknown[] = parts.map(() => undefined);
  const threads: Worker[] = [];
  const running: Promise<void>[] = [];
  let next = 0;
  let done = 0;
  const take = (): number | null => (next < parts.length ? next++ : null);
  const keep = (index: number, found: unknown): void => {
    points[index] = found;
    done += 1;
    onProgress(done / parts.length);
  };
  const start = (count: number): void => {
    const started = startThreads(work, count);
    threads.push(...started);
    for (const thread of started) {
      const one = overParts(thread, parts, take, keep);
      // A failure of theirs ends the wait below; until then it must not count as nobody's.
      one.catch(() => undefined);
      running.push(one);
    }
  };
  const began = performance.now();
  try {
    if (wanted !== null) start(Math.min(workers, parts.length) - 1);
    for (let index = take(); index !== null; index = take()) {
      keep(index, measuredPart(view, work, parts[index]));
      const left = parts.length - next;
      if (wanted === null && threads.length === 0 && ((performance.now() - began) / done) * left > worthThreadsMilliseconds) start(Math.min(workers - 1, left));
      // Lets their answers in.
      await setImmediate();
    }
    await Promise.all(running);
  } finally {
    await Promise.all(threads.map((thread) => thread.terminate()));
  }
  return points;
}

/** Beside this in a build; none where there is none. */
function startThreads(work: FigureWork, count: number): Worker[] {
  const file = new URL('figure-worker.mjs', import.meta.url);
  if (!existsSync(fileURLToPath(file))) return [];
  return Array.from({ length: Math.max(0, count) }, () => new Worker(file, { workerData: work, execArgv: [] }));
}

/** Gives a thread the next part as soon as it is done with one. */
function overParts(thread: Worker, parts: readonly unknown[], take: () => number | null, keep: (index: number, found: unknown) => void): Promise<void> {
  return new Promise((finish, fail) => {
    const give = (): void => {
      const index = take();
      if (index === null) finish();
      else thread.postMessage({ index, part: parts[index] } satisfies PartMessage);
    };
    thread.on('message', (answer: PartAnswer) => {
      if ('refused' in answer) {
        fail(new InputFailure(answer.refused));
        return;
      }
      keep(answer.index, answer.points);
      give();
    });
    thread.on('error', fail);
    give();
  });
}
