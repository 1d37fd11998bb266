/** A loop that is being loaded while something else is asked of what is on the bench. */
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { EngineContext } from '../../ui/page/engine/contract.ts';
import type { OpenFigure } from '../../ui/page/engine/open-figure.ts';
import { Programmes, type BenchRecording } from '../../ui/page/engine/programmes.ts';
import type { RecordingFiles } from '../../ui/page/engine/recording-files.ts';
import type { Action } from '../../ui/page/state.ts';
import { loops, makeBench } from './support.ts';

const recording = { key: 1, rateHz: 48_000, channels: 1, encoding: 'pcm24', sha256: 'a'.repeat(64), overview: { frames: 480 }, readBy: 'bench', atOwnRate: true } as unknown as BenchRecording;

function desk() {
  const { bench } = makeBench();
  const stretches: ((channels: Float64Array[]) => void)[] = [];
  const files = {
    open: () => Promise.resolve(recording),
    // A newer one ends an older one, as the worker does it.
    stretch: () => new Promise<Float64Array[] | null>((resolve) => { stretches.push(resolve); }),
  };
  const measurer = { setProgramme: () => Promise.resolve(), setRegion: () => Promise.resolve(), spectrum: () => Promise.resolve(null) };
  const context = { dispatch: (action: Action) => bench.dispatch(action), state: () => bench.state, graph: () => null, programme: () => programmes.programme, readings: { positionSeconds: 0, overview: new Float32Array(0) }, measurer } as unknown as EngineContext;
  const programmes = new Programmes(context, { loops, baseUrl: 'http://bench.invalid/', files: files as unknown as RecordingFiles, ownRecording: () => null }, { setProgramme: () => undefined } as unknown as OpenFigure);
  bench.subscribe((before, after, action) => programmes.follow(before, after, action));
  const settle = () => new Promise((resolve) => { setTimeout(resolve, 0); });
  const arrive = async () => {
    stretches.splice(0).forEach((resolve) => resolve([new Float64Array(480)]));
    await settle();
  };
  return { bench, programmes, settle, arrive };
}

beforeEach(() => { vi.stubGlobal('fetch', () => Promise.resolve(new Response('x'))); });
afterEach(() => { vi.unstubAllGlobals(); });

describe('the loop that is chosen', () => {
  const [first, second] = loops.map(({ identifier }) => identifier) as [string, string];

  it('comes, whatever is asked of the one before meanwhile', async () => {
    const { bench, programmes, settle, arrive } = desk();
    programmes.begin();
    await settle();
    await arrive();
    const before = programmes.programme!.identifier;
    const other = before === first ? second : first;
    bench.dispatch({ kind: 'loop', loop: other });
    // Its file is being fetched; then its samples are on their way.
    bench.dispatch({ kind: 'trim', trimDb: -3 });
    await settle();
    bench.dispatch({ kind: 'trim', trimDb: -4 });
    await arrive();
    expect(programmes.programme!.identifier).toBe(other);
    expect(bench.state.live.programme).toMatchObject({ trimDb: -4 });
  });

  it('is the newest one', async () => {
    const { bench, programmes, settle, arrive } = desk();
    const told: (string | undefined)[] = [];
    programmes.begin();
    await settle();
    bench.subscribe((_before, _after, action) => { if (action.kind === 'programme') told.push(action.programme.title); });
    const other = loops.find(({ identifier }) => identifier !== bench.state.session.loop)!;
    bench.dispatch({ kind: 'loop', loop: other.identifier });
    await arrive();
    await arrive();
    expect([told, programmes.programme?.identifier]).toEqual([[other.title], other.identifier]);
  });
});
