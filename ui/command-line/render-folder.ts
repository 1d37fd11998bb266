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

const recordingEndings = ['wav', 'aif', 'aiff', 'aifc', 'flac'];
const recordingName = new RegExp(`\\.(${recordingEndings.join('|')})$`, 'i');

/** What is written is WAV. */
const outputName = (name: string): string => (/\.wav$/i.test(name) ? name : name.replace(recordingName, '.wav'));

/** The files' reports in the order of their names. At most `workers` at a time (null: as many as the machine runs at once), one of them in this thread. */
export async function renderFolder(request: FolderRequest, inputFolder: string, outputFolder: string, workers: number | null): Promise<RenderedFile[]> {
  if (resolve(inputFolder) === resolve(outputFolder)) throw new InputFailure(`--out: expected another folder than --in, got ${outputFolder}`);
  const names = (await readdir(inputFolder, { withFileTypes: true })).filter((entry) => entry.isFile() && recordingName.test(entry.name)).map(({ name }) => name).sort();
  if (names.length === 0) throw new InputFailure(`${inputFolder}: expected at least one recording (${recordingEndings.map((ending) => `*.${ending}`).join(', ')}), found none`);
  const pairs = names.map((name) => ({ inputPath: join(inputFolder, name), outputPath: join(outputFolder, outputName(name)) }));
  const twice = names.find((name, k) => names.findIndex((other) => outputName(other) === outputName(name)) < k);
  if (twice !== undefined) throw new InputFailure(`${inputFolder}: expected recordings of different names, got several that would become ${outputName(twice)}`);
  const threads = Math.min(workers ?? availableParallelism(), pairs.length);
  // Threads take as long to start as the programs take to make, at the rate that most files will have; and a setting that cannot be built is said once, not for every file.
  const started = Array.from({ length: threads - 1 }, () => startThread(request));
  try {
    const known = new Map<string, PlannedProgram>();
    planPath(request.setting.path, request.setting.baseRateHz, { grade: request.grade, joints: request.setting.joints, known });
    // Nothing is awaited before somebody hears of a thread's failure.
    mkdirSync(outputFolder, { recursive: true });
    return await overThreads(request, started, pairs, known);
  } finally {
    // A thread that is not needed any more may fail unheard.
    await Promise.all(started.map((worker) => worker.on('error', () => undefined).terminate()));
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

/** This thread and those `started` take the next file as soon as they are done with one. */
async function overThreads(request: FolderRequest, started: readonly Worker[], pairs: readonly FilePair[], known: Map<string, PlannedProgram>): Promise<RenderedFile[]> {
  const progress = new Progress('render');
  const rendered: RenderedFile[] = [];
  let next = 0;
  let done = 0;
  const take = (): number | null => {
    if (next === pairs.length) return null;
    next += 1;
    return next - 1;
  };
  const keep = (at: number, file: RenderedFile): void => {
    rendered[at] = file;
    done += 1;
    progress.report(done / pairs.length);
  };
  const there = (worker: Worker) => new Promise<void>((finish, fail) => {
    const tell = (message: RenderMessage) => worker.postMessage(message);
    let at: number | null = null;
    const give = () => {
      at = take();
      if (at === null) finish();
      else tell(pairs[at]!);
    };
    worker.on('message', (file: RenderedFile) => {
      keep(at!, file);
      give();
    });
    worker.on('error', fail);
    tell(known);
    give();
  });
  const here = async () => {
    const render = fileRenderer(request, known);
    for (let at = take(); at !== null; at = take()) keep(at, await render(pairs[at]!));
  };
  try {
    await Promise.all([...started.map(there), here()]);
  } finally {
    progress.done();
  }
  return rendered;
}
