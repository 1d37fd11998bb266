/** Answers that fail, that come late, and that do not come: each is heard of, and none leaves the page waiting. */
import { afterEach, describe, expect, it, vi } from 'vitest';
import { BlindComparison } from '../../ui/page/engine/blind-comparison.ts';
import type { EngineContext } from '../../ui/page/engine/contract.ts';
import { LevelMatch } from '../../ui/page/engine/level-match.ts';
import { LiveInput } from '../../ui/page/engine/live-input.ts';
import { Report } from '../../ui/page/engine/report.ts';
import type { Action, ProgrammeFacts } from '../../ui/page/state.ts';
import { makeBench } from './support.ts';

const programme: ProgrammeFacts = {
  title: 'piano', rateHz: 48_000, channels: 1, frames: 384_000, onBench: { startFrame: 0, endFrame: 384_000 }, encoding: 'pcm24', origin: 'demo', readBy: 'bench', sha256: 'a'.repeat(64), trimDb: 0,
};
afterEach(() => { vi.unstubAllGlobals(); });

const settle = () => new Promise((resolve) => { setTimeout(resolve, 0); });

function desk(parts: Record<string, unknown>) {
  const { bench } = makeBench();
  const context = { dispatch: (action: Action) => bench.dispatch(action), state: () => bench.state, graph: () => ({ built: true, send: () => undefined }), programme: () => null, ...parts } as unknown as EngineContext;
  return { bench, context };
}

it('excerpts that were listed before their loop was there are measured when it comes', async () => {
  let loaded = false;
  const measurer = { matchExcerpts: () => Promise.resolve(loaded ? [{ inGainDb: -1, outGainDb: 0 }] : null) };
  const { bench, context } = desk({ measurer });
  const part = new BlindComparison(context, {} as LevelMatch);
  bench.subscribe((before, after, action) => part.follow(before, after, action));
  bench.dispatch({ kind: 'region', region: { startSeconds: 0.5, endSeconds: 1 } });
  bench.dispatch({ kind: 'blind-setup', seed: 1 });
  bench.dispatch({ kind: 'add-excerpt' });
  await settle();
  expect(bench.state.live.blind).toMatchObject({ excerptMatch: { kind: 'measuring' } });
  loaded = true;
  bench.dispatch({ kind: 'programme', programme });
  await settle();
  expect(bench.state.live.blind).toMatchObject({ excerptMatch: { kind: 'matched' } });
});

it('a blind worker that stops is heard of, and the bench is had again', async () => {
  class StoppingWorker extends EventTarget {
    constructor() {
      super();
      queueMicrotask(() => this.dispatchEvent(Object.assign(new Event('error'), { message: 'out of memory' })));
    }

    postMessage(): void {
      return;
    }

    terminate(): void {
      return;
    }
  }
  vi.stubGlobal('Worker', StoppingWorker);
  const { bench, context } = desk({ graph: () => null });
  const part = new BlindComparison(context, {} as LevelMatch);
  bench.subscribe((before, after, action) => part.follow(before, after, action));
  bench.dispatch({ kind: 'blind-setup', seed: 1 });
  bench.dispatch({ kind: 'blind-begin' });
  await settle();
  expect(bench.state.live.message).toMatchObject({ text: 'The blind comparison stopped: out of memory. Nothing of it could be kept.', urgent: true });
  expect([bench.state.live.blind, bench.state.live.playing]).toEqual([null, false]);
});

it('a report that is opened anew has the harmonics that were asked for last', async () => {
  const answers: ((harmonics: unknown) => void)[] = [];
  const { bench, context } = desk({ pool: { trialHarmonics: () => new Promise((resolve) => { answers.push(resolve); }) } });
  const part = new Report(context);
  bench.subscribe((before, after, action) => part.follow(before, after, action));
  for (const page of ['report', null, 'report'] as const) bench.dispatch({ kind: 'whole-page', page });
  answers[1]!({ of: 'second' });
  await settle();
  answers[0]!({ of: 'first' });
  await settle();
  expect(bench.state.live.report.harmonics).toEqual({ of: 'second' });
});

it('what the measurer refuses is said', async () => {
  const { bench, context } = desk({ measurer: { setMatch: () => Promise.reject(new Error('out of memory')) } });
  const part = new LevelMatch(context);
  bench.subscribe((before, after, action) => part.follow(before, after, action));
  bench.dispatch({ kind: 'match', on: false });
  await settle();
  expect(bench.state.live.message).toMatchObject({ text: 'The level match could not be switched: out of memory.', urgent: true });
});

describe('a loopback measurement', () => {
  /** Refuses whatever is asked of it. */
  class RefusingWorker extends EventTarget {
    postMessage({ id }: { readonly id: string }): void {
      const value = { isError: true, value: { name: 'Error', message: 'out of memory', stack: '' } };
      queueMicrotask(() => this.dispatchEvent(new MessageEvent('message', { data: { id, type: 'HANDLER', name: 'throw', value } })));
    }

    terminate(): void {
      return;
    }
  }

  function measuring() {
    vi.stubGlobal('Worker', RefusingWorker);
    vi.stubGlobal('navigator', {});
    const { bench, context } = desk({});
    const part = new LiveInput(context);
    const settings = { label: 'Stage box', deviceId: 'a', rateHz: 48_000, channels: 2, latencySeconds: 0.01, echoCancellation: false, noiseSuppression: false, autoGainControl: false, voiceIsolation: null };
    for (const action of [{ kind: 'input-ask' }, { kind: 'input-consent' }, { kind: 'input-opened', settings, devices: [] }, { kind: 'loopback-ask' }] as const) bench.dispatch(action);
    bench.subscribe((before, after, action) => part.follow(before, after, action));
    bench.dispatch({ kind: 'loopback-measure' });
    expect(bench.state.live.input.loopback).toEqual({ kind: 'measuring' });
    return { bench, part };
  }
  const told = (sentence: string) => ({ kind: 'told', finding: { kind: 'failed', sentence } });

  it('ends where its node dies', () => {
    const { bench, part } = measuring();
    part.hear({ kind: 'fault', sentence: 'of a test' });
    expect(bench.state.live.input.loopback).toMatchObject(told('The audio processor stopped meanwhile: measure again.'));
  });

  it('ends where another rate takes the place of its own', () => {
    const { bench } = measuring();
    bench.dispatch({ kind: 'programme', programme: { ...programme, rateHz: 96_000 } });
    expect(bench.state.live.input.loopback).toMatchObject(told('The bench plays at another rate now: measure again.'));
  });

  it('ends where nothing can be found in what came in', async () => {
    const { bench, part } = measuring();
    part.hear({ kind: 'looped-back', recording: new Float64Array(10) });
    await settle();
    expect(bench.state.live.input.loopback).toMatchObject(told('The delay could not be found: out of memory.'));
  });
});
