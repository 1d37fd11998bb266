/** A file that has been read while something else was wanted, on a page without a store. */
import { describe, expect, it } from 'vitest';
import type { EngineContext } from '../../ui/page/engine/contract.ts';
import { Materials } from '../../ui/page/engine/materials.ts';
import type { OpenedRecording, RecordingFiles } from '../../ui/page/engine/recording-files.ts';
import { loops, makeBench } from './support.ts';

const sha256 = 'a'.repeat(64);
const overview = { frames: 48_000 } as OpenedRecording['overview'];
const opened: OpenedRecording = { key: 7, rateHz: 48_000, channels: 1, encoding: 'pcm24', sha256, overview, readBy: 'browser', atOwnRate: true };

/** `answer` ends the reading of the file that was opened. */
function reading() {
  const { bench } = makeBench();
  const forgotten: number[] = [];
  let answer: (recording: OpenedRecording) => void = () => undefined;
  const files = { open: () => new Promise<OpenedRecording>((resolve) => { answer = resolve; }), forget: (key: number) => void forgotten.push(key), dispose: () => undefined };
  const context = { dispatch: (action) => bench.dispatch(action), state: () => bench.state } as EngineContext;
  const materials = new Materials(context, files as unknown as RecordingFiles);
  bench.subscribe((before, after, action) => materials.follow(before, after, action));
  bench.dispatch({ kind: 'open-material', file: new File(['x'], 'rehearsal.mp3'), handle: null });
  const told: string[] = [];
  bench.subscribe((_before, _after, action) => { if (action.kind === 'message') told.push(action.text); });
  return { bench, materials, forgotten, said: () => told, arrive: async () => {
    answer(opened);
    await new Promise((resolve) => { setTimeout(resolve, 0); });
  } };
}

describe('a file that was read', () => {
  it('comes onto the bench', async () => {
    const { bench, arrive, forgotten, materials } = reading();
    await arrive();
    expect([bench.state.session.loop.startsWith('file:'), bench.state.live.material.reading, forgotten]).toEqual([true, null, []]);
    materials.dispose();
  });

  it('is let go of where it was given up meanwhile', async () => {
    const { bench, arrive, forgotten, materials } = reading();
    const { loop } = bench.state.session;
    bench.dispatch({ kind: 'stop-reading' });
    await arrive();
    expect([bench.state.session.loop, bench.state.live.material.known, forgotten]).toEqual([loop, [], [7]]);
    materials.dispose();
  });

  it('leaves alone the loop that was chosen after it, and says where it is', async () => {
    const { bench, arrive, materials, said } = reading();
    const other = loops.find(({ identifier }) => identifier !== bench.state.session.loop)!.identifier;
    bench.dispatch({ kind: 'loop', loop: other });
    await arrive();
    expect([bench.state.session.loop, bench.state.live.material.reading]).toEqual([other, null]);
    expect(bench.state.live.material.known).toMatchObject([{ name: 'rehearsal.mp3', reach: 'open' }]);
    expect(said()[0]).toMatch(/^rehearsal.mp3 is open, but not on the bench, for something else was chosen meanwhile: it is under Your files. rehearsal.mp3 was decoded/);
    materials.dispose();
  });

  it('leaves alone what is compared blind, and says where it is', async () => {
    const { bench, arrive, materials } = reading();
    const { loop } = bench.state.session;
    bench.dispatch({ kind: 'blind-setup', seed: 1 });
    await arrive();
    expect(bench.state.session.loop).toBe(loop);
    expect(bench.state.live.material.known).toMatchObject([{ name: 'rehearsal.mp3', reach: 'open' }]);
    materials.dispose();
  });
});
