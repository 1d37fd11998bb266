/** A sitting whose blind worker answers, or stops by itself. */
import { afterEach, expect, it, vi } from 'vitest';
import type { EngineContext } from '../../ui/page/engine/contract.ts';
import { LongListeningKeeper } from '../../ui/page/engine/long-listening.ts';
import type { Action, MatchState } from '../../ui/page/state.ts';
import { makeBench } from './support.ts';

const made: FakeWorker[] = [];

/** Answers when it is asked to. */
class FakeWorker extends EventTarget {
  readonly asked: { readonly id: string }[] = [];

  constructor() {
    super();
    made.push(this);
  }

  postMessage(message: { readonly id: string }): void {
    this.asked.push(message);
  }

  answer(): void {
    for (const { id } of this.asked.splice(0)) this.dispatchEvent(new MessageEvent('message', { data: { id, type: 'RAW', value: undefined } }));
  }

  stop(): void {
    this.dispatchEvent(Object.assign(new Event('error'), { message: 'out of memory' }));
  }

  terminate(): void {
    return;
  }
}

function sitting() {
  vi.stubGlobal('Worker', FakeWorker);
  const { bench } = makeBench();
  const sent: string[] = [];
  const graph = { built: true, send: ({ kind }: { readonly kind: string }) => void sent.push(kind) };
  const context = { dispatch: (action: Action) => bench.dispatch(action), state: () => bench.state, graph: () => graph, programme: () => null, readings: {} };
  const keeper = new LongListeningKeeper(context as unknown as EngineContext);
  bench.dispatch({ kind: 'programme', programme: { title: 'piano', rateHz: 48_000, channels: 1, frames: 480, onBench: { startFrame: 0, endFrame: 480 }, encoding: 'pcm24', origin: 'demo', readBy: 'bench', sha256: 'a'.repeat(64), trimDb: 0 } });
  bench.dispatch({ kind: 'matched', revision: bench.state.live.revision, match: { kind: 'matched', inGainDb: -1, outGainDb: 0, residualDb: 0, waitsForSwitch: false } satisfies MatchState });
  bench.dispatch({ kind: 'long-plan', id: 'a1', seed: 12, date: '2026-11-01' });
  bench.subscribe((before, after, action) => keeper.follow(before, after, action));
  bench.dispatch({ kind: 'sitting-open', id: 'a1' });
  const settle = () => new Promise((resolve) => { setTimeout(resolve, 0); });
  return { bench, keeper, sent, worker: made.at(-1)!, settle, concealment: () => bench.state.live.long.sitting?.concealment };
}

afterEach(() => { vi.unstubAllGlobals(); });

it('its side stands once the worker has answered and the audio thread is joined to it', async () => {
  const { keeper, worker, sent, settle, concealment } = sitting();
  expect([concealment(), sent]).toEqual([{ kind: 'asked' }, []]);
  worker.answer();
  await settle();
  expect([concealment(), sent]).toEqual([{ kind: 'asked' }, ['blind']]);
  worker.answer();
  await settle();
  expect(concealment()).toEqual({ kind: 'stands' });
  keeper.dispose();
});

it.each([0, 1, 2])('says so where the worker stops, whenever: after %s answers', async (answers) => {
  const { bench, keeper, worker, settle, concealment } = sitting();
  for (let k = 0; k < answers; k += 1) {
    worker.answer();
    await settle();
  }
  worker.stop();
  await settle();
  expect(concealment()).toEqual({ kind: 'failed', why: 'out of memory' });
  expect(bench.state.live.message).toMatchObject({ text: 'The sitting cannot be played: out of memory. Leave it and open it again.', urgent: true });
  bench.dispatch({ kind: 'sitting-leave' });
  worker.stop();
  await settle();
  expect(bench.state.live.long.sitting).toBeNull();
  keeper.dispose();
});
