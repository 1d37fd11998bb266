// A thread of the command line: is told the programs made already, then renders the files it is given, one after the other, and answers each.
import { parentPort, workerData } from 'node:worker_threads';
import { installCompiledCode } from './compiled-code.ts';
import { fileRenderer } from './render-folder.ts';
import type { FolderRequest, RenderMessage } from './render-folder.ts';

installCompiledCode();
const request = workerData as FolderRequest;
let render = fileRenderer(request, new Map());
let before = Promise.resolve();
parentPort!.on('message', (message: RenderMessage) => {
  if (!('inputPath' in message)) {
    render = fileRenderer(request, new Map(message));
    return;
  }
  // A failure that is ours ends the thread, and the command line with it.
  before = before.then(async () => { parentPort!.postMessage(await render(message)); });
});
