/** Every recording of a folder through one setting, over threads of this machine. */
import { mkdirSync } from 'node:fs';
import { readdir } from 'node:fs/promises';
import { availableParallelism } from 'node:os';
import { join, resolve } from 'node:path';
import { Worker } from 'node:worker_threads';
import { planPath } from '../../dsp/path/index.ts';
import type { PlannedProgram } from '../../dsp/path/index.ts';
import { InputFailure, inputSentence } from './failure.ts';
import { Progress } from './progress.ts';
import { renderFile } from './render-file.ts';
import type { FileRequest } from './render-file.ts';
import type { RenderReport } from './render-report.ts';

/** What all files of a folder have in common. */
export type FolderRequest = Omit<FileRequest, 'inputPath' | 'outputPath' | 'known' | 'onProgress'>;

export interface FilePair {
  readonly inputPath: string;
  readonly outputPath: string;
}

/** One file of the folder: rendered, or the sentence that says why not. */
export type RenderedFile = FilePair & ({ readonly report: RenderReport } | { readonly refused: string });

/** What a thread is told: the programs made already, by identity, then file by file. */
export type RenderMessage = ReadonlyMap<string, PlannedProgram> | FilePair;

/** Takes one file after the other; made once a thread. */
export type FileRenderer = (pair: FilePair) => Promise<RenderedFile>;

/** The files' reports in the order of their names. At most `workers` at a time (null: as many as the machine runs at once), one: in this thread. */
export async function renderFolder(request: FolderRequest, inputFolder: string, outputFolder: string, workers: number | null): Promise<RenderedFile[]> {
  if (resolve(inputFolder) === resolve(outputFolder)) throw new InputFailure(`--out: expected another folder than --in, got ${outputFolder}`);
  const names = (await readdir(inputFolder, { withFileTypes: true })).filter((entry) => entry.isFile() && /\.wav$/i.test(entry.name)).map(({ name }) => name).sort();
  if (names.length === 0) throw new InputFailure(`${inputFolder}: expected at least one recording (*.wav), found none`);
  const pairs = names.map((name) => ({ inputPath: join(inputFolder, name), outputPath: join(outputFolder, name) }));
  const threads = Math.min(workers ?? availableParallelism(), pairs.length);
  // Threads take as long to start as the programs take to make, at the rate that most files will have; and a setting that cannot be built is said once, not for every file.
  const started = threads === 1 ? [] : Array.from({ length: threads }, () => startThread(request));
  try {
    const known = new Map<string, PlannedProgram>();
    planPath(request.setting.path, request.setting.baseRateHz, { grade: request.grade, known });
    // Nothing is awaited before somebody hears of a thread's failure.
    mkdirSync(outputFolder, { recursive: true });
    return threads === 1 ? await inThisThread(request, pairs, known) : await overThreads(started, pairs, known);
  } finally {
    await Promise.all(started.map((worker) => worker.terminate()));
  }
}

/** Beside this in a build; whatever options Node itself was given are for the main thread. */
function startThread(request: FolderRequest): Worker {
  return new Worker(new URL('render-worker.mjs', import.meta.url), { workerData: request, execArgv: [] });
}

/** `known`: programs made before; new ones are added. Refuses nothing but what is our own fault. */
export function fileRenderer(request: FolderRequest, known: Map<string, PlannedProgram>): FileRenderer {
  return async (pair) => {
    try {
      return { ...pair, report: await renderFile({ ...request, ...pair, known }) };
    } catch (error) {
      const refused = inputSentence(error);
      if (refused === null) throw error;
      return { ...pair, refused };
    }
  };
}

async function inThisThread(request: FolderRequest, pairs: readonly FilePair[], known: Map<string, PlannedProgram>): Promise<RenderedFile[]> {
  const progress = new Progress('render');
  const render = fileRenderer(request, known);
  const rendered: RenderedFile[] = [];
  for (const pair of pairs) {
    rendered.push(await render(pair));
    progress.report(rendered.length / pairs.length);
  }
  progress.done();
  return rendered;
}

/** Each thread takes the next file as soon as it is done with one. */
async function overThreads(started: readonly Worker[], pairs: readonly FilePair[], known: ReadonlyMap<string, PlannedProgram>): Promise<RenderedFile[]> {
  const progress = new Progress('render');
  const rendered: RenderedFile[] = [];
  let next = 0;
  let done = 0;
  const work = (worker: Worker) => new Promise<void>((finish, fail) => {
    const tell = (message: RenderMessage) => worker.postMessage(message);
    let at = -1;
    const give = () => {
      at = next;
      next += 1;
      if (at < pairs.length) tell(pairs[at]!);
      else finish();
    };
    worker.on('message', (file: RenderedFile) => {
      rendered[at] = file;
      done += 1;
      progress.report(done / pairs.length);
      give();
    });
    worker.on('error', fail);
    tell(known);
    give();
  });
  try {
    await Promise.all(started.map(work));
  } finally {
    progress.done();
  }
  return rendered;
}
