/** One pool worker as it measures parts of figures: given the loop once, and ended with a sentence where it stops by itself. */
import * as Comlink from 'comlink';
import type { FigureLoop, FigurePartAnswer, FigurePartRequest } from '../../../worklets/messages.ts';
import type { Pool } from '../../../worklets/workers/pool.ts';
import type { FigureWorker } from './figures.ts';

/** @param loopOf the loop as it is now, for views of the music */
export function makeFigureWorker(loopOf: () => FigureLoop | null): FigureWorker {
  const worker = new Worker(new URL('../../../worklets/workers/pool.ts', import.meta.url), { type: 'module', name: 'figures' });
  const pool = Comlink.wrap<Pool>(worker);
  let given = -1;
  const stopped = new Promise<never>((_, reject) => {
    worker.addEventListener('error', (event) => reject(new Error(event.message || 'its worker stopped')));
  });
  // Whoever waits for an answer hears of it.
  stopped.catch(() => undefined);
  return {
    async figurePart(request: FigurePartRequest, tell: (points: unknown) => void): Promise<FigurePartAnswer> {
      const loop = loopOf();
      if (request.programme !== null && loop !== null && loop.serial !== given) {
        given = loop.serial;
        await Promise.race([pool.setFigureLoop(loop), stopped]);
      }
      return Promise.race([pool.figurePart(request, Comlink.proxy(tell)), stopped]);
    },
    cancelFigure: (run) => void pool.cancelFigure(run),
    terminate: () => worker.terminate(),
  };
}

/** Samples on shared memory where there is any, so that workers hold one copy among them; else each gets its own. */
export function shareChannels(channels: readonly Float64Array[]): readonly Float64Array[] {
  if (!globalThis.crossOriginIsolated || typeof SharedArrayBuffer === 'undefined') return channels;
  return channels.map((channel) => {
    if ((channel.buffer as ArrayBufferLike) instanceof SharedArrayBuffer) return channel;
    const shared = new Float64Array(new SharedArrayBuffer(channel.byteLength));
    shared.set(channel);
    return shared;
  });
}
