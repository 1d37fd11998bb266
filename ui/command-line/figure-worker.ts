// A thread of the command line: measures the parts of a figure that it is given, one after the other, and answers each.
import { parentPort, workerData } from 'node:worker_threads';
import { figureViewById } from '../../dsp/measure/figures/index.ts';
import { installCompiledCode } from './compiled-code.ts';
import { InputFailure } from './failure.ts';
import { measuredPart } from './figure-parts.ts';
import type { FigureWork, PartAnswer, PartMessage } from './figure-parts.ts';

installCompiledCode();
const work = workerData as FigureWork;
const view = figureViewById(work.view)!;
parentPort!.on('message', ({ index, part }: PartMessage) => parentPort!.postMessage(answerOf(index, part)));

/** A failure that is ours ends the thread, and the command line with it. */
function answerOf(index: number, part: unknown): PartAnswer {
  try {
    return { index, points: measuredPart(view, work, part) };
  } catch (error) {
    if (error instanceof InputFailure) return { index, refused: error.message };
    throw error;
  }
}
