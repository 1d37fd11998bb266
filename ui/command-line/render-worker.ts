// A thread of the command line: renders the files it is given, one after the other, and answers each.
import { parentPort, workerData } from 'node:worker_threads';
import { installCompiledCode } from './compiled-code.ts';
import { fileRenderer } from './render-folder.ts';
import type { FilePair, FolderRequest } from './render-folder.ts';

installCompiledCode();
const render = fileRenderer(workerData as FolderRequest);
let before = Promise.resolve();
parentPort!.on('message', (pair: FilePair) => {
  // A failure that is ours ends the thread, and the command line with it.
  before = before.then(async () => { parentPort!.postMessage(await render(pair)); });
});
