/** The scheduler of figures, with workers and a clock that are turned by hand. */
import { describe, expect, it } from 'vitest';
import { factsOfSetting, figureView } from '../../dsp/measure/figures/index.ts';
import type { AnyFigureView, Figure } from '../../dsp/measure/figures/index.ts';
import { openingSetting } from '../../dsp/setting/index.ts';
import { FigureFeed } from '../../ui/page/figure-feed.ts';
import type { ShownFigure } from '../../ui/page/figure-feed.ts';
import { cheapMs, FigureRuns, quietMs, wholeMs, workersFor } from '../../ui/page/engine/figures.ts';
import type { FigureClock, FigureWant, FigureWorker } from '../../ui/page/engine/figures.ts';
import type { FigurePartAnswer, FigurePartRequest } from '../../worklets/messages.ts';

const viewOf = (id: string, refuse: (level: number) => string | null = () => null): AnyFigureView => figureView<number, number>({
  id, title: id, help: '', parameters: [],
  refuse: (_, values) => refuse(values['level'] as number),
  split: () => [10, 20, 30, 40],
  *measure(_subject, _values, part) { yield undefined; return part; },
  draw: (_, values, points) => ({ title: id, caption: `${values['level']}: ${points.map((point) => point ?? '–').join(' ')}`, panels: [], tables: [], remarks: [] }) satisfies Figure,
});
const view = viewOf('steps');

function wanting(level: number, of = view): FigureWant {
  const { path, joints, baseRateHz } = openingSetting();
  const scope = { kind: 'path' } as const;
  return { view: of, values: { level }, path, joints, baseRateHz, scope, programme: null, facts: factsOfSetting({ path, baseRateHz, scope, programme: null }) };
}

interface Asked {
  readonly worker: number;
  readonly request: FigurePartRequest;
  tell(points: unknown): void;
  answer(answer: FigurePartAnswer): Promise<void>;
  fail(error: Error): Promise<void>;
}

/** Everything that waits on promises has run. */
const turns = async () => { for (let turn = 0; turn < 12; turn += 1) await Promise.resolve(); };

function makeBench(mostWorkers = 2) {
  let now = 0;
  const timers = new Set<{ readonly atMs: number; readonly then: () => void }>();
  const frames = new Set<() => void>();
  const clock: FigureClock = {
    nowMs: () => now,
    after: (ms, then) => {
      const timer = { atMs: now + ms, then };
      timers.add(timer);
      return () => timers.delete(timer);
    },
    frame: (then) => {
      frames.add(then);
      return () => frames.delete(then);
    },
  };
  const asked: Asked[] = [];
  const cancelled: number[] = [];
  let made = 0;
  let ended = 0;
  const makeWorker = (): FigureWorker => {
    made += 1;
    const worker = made;
    return {
      figurePart: (request, tell) => new Promise((resolve, reject) => {
        asked.push({
          worker, request, tell,
          answer: async (answer) => { resolve(answer); await turns(); },
          fail: async (error) => { reject(error); await turns(); },
        });
      }),
      cancelFigure: (run) => void cancelled.push(run),
      terminate: () => { ended += 1; },
    };
  };
  const feed = new FigureFeed();
  const shown: (ShownFigure | null)[] = [];
  feed.subscribe(() => shown.push(feed.shown));
  const runs = new FigureRuns({ makeWorker, mostWorkers, feed, clock });
  return {
    runs, feed, shown, asked, cancelled,
    get made() { return made; },
    get ended() { return ended; },
    pass(ms: number) {
      now += ms;
      for (const timer of [...timers]) if (timer.atMs <= now && timers.delete(timer)) timer.then();
    },
    drawFrame() {
      for (const then of [...frames]) if (frames.delete(then)) then();
    },
    /** Answers every part of the run under way, in the order asked for, after so many ms each. */
    async finishRun(msEach = 1) {
      const run = asked.at(-1)!.request.run;
      for (let at = 0; at < asked.length; at += 1) {
        if (asked[at]!.request.run !== run) continue;
        this.pass(msEach);
        await asked[at]!.answer({ kind: 'measured', points: asked[at]!.request.part });
      }
    },
  };
}

describe('how many workers measure', () => {
  it.each([[1, 1], [2, 1], [4, 3], [8, 7], [64, 16]])('%i processors: %i, so that one is left to sound', (processors, workers) => {
    expect(workersFor(processors)).toBe(workers);
  });
});

describe('a figure that opens', () => {
  it('is begun at once, a worker for each part as far as there are any, made when they are needed', async () => {
    const bench = makeBench(2);
    expect(bench.made).toBe(0);
    bench.runs.want(wanting(1));
    expect(bench.made).toBe(2);
    expect(bench.asked.map(({ request }) => request.part)).toEqual([10, 20]);
    await bench.asked[1]!.answer({ kind: 'measured', points: 20 });
    expect(bench.asked.map(({ worker, request }) => [worker, request.part])).toEqual([[1, 10], [2, 20], [2, 30]]);
    expect(bench.asked[0]!.request).toMatchObject({ view: 'steps', values: { level: 1 }, scope: { kind: 'path' } });
    expect(bench.asked[0]!.request).not.toHaveProperty('facts');
  });

  it('is drawn of what has come, once a frame, with its progress', async () => {
    const bench = makeBench(1);
    bench.runs.want(wanting(1));
    bench.asked[0]!.tell(7);
    bench.asked[0]!.tell(8);
    bench.asked[0]!.tell(9);
    const before = bench.shown.length;
    bench.drawFrame();
    expect(bench.shown.length - before).toBe(1);
    expect(bench.feed.shown).toMatchObject({ done: 0, parts: 4, updating: true, figure: { caption: '1: 9 – – –' } });
    bench.drawFrame();
    expect(bench.shown.length - before, 'nothing new, nothing drawn').toBe(1);
    await bench.asked[0]!.answer({ kind: 'measured', points: 10 });
    bench.drawFrame();
    expect(bench.feed.shown).toMatchObject({ done: 1, updating: true, figure: { caption: '1: 10 – – –' } });
    await bench.finishRun();
    expect(bench.feed.shown).toMatchObject({ done: 4, parts: 4, updating: false, refusal: null, figure: { caption: '1: 10 20 30 40' } });
  });

  it('keeps the whole of a part when something of it comes late', async () => {
    const bench = makeBench(1);
    bench.runs.want(wanting(1));
    await bench.asked[0]!.answer({ kind: 'measured', points: 10 });
    bench.asked[0]!.tell(7);
    bench.drawFrame();
    expect(bench.feed.shown).toMatchObject({ figure: { caption: '1: 10 – – –' } });
    await bench.finishRun();
    expect(bench.feed.shown).toMatchObject({ updating: false, figure: { caption: '1: 10 20 30 40' } });
  });

  it('takes the place of another, whose work is ended and whose points are dropped', async () => {
    const bench = makeBench(1);
    bench.runs.want(wanting(1));
    bench.asked[0]!.tell(7);
    bench.runs.want(wanting(1, viewOf('other')));
    expect(bench.cancelled).toEqual([1]);
    expect(bench.feed.shown).toMatchObject({ view: 'other', figure: null });
    bench.asked[0]!.tell(8);
    bench.drawFrame();
    expect(bench.feed.shown).toMatchObject({ view: 'other', figure: null });
    // The worker is free when it has heard of it.
    expect(bench.asked).toHaveLength(1);
    await bench.asked[0]!.answer({ kind: 'cancelled' });
    expect(bench.asked.map(({ request }) => request.view)).toEqual(['steps', 'other']);
    expect(bench.made).toBe(1);
    bench.asked[0]!.tell(9);
    bench.asked[1]!.tell(5);
    bench.drawFrame();
    expect(bench.feed.shown).toMatchObject({ view: 'other', figure: { caption: '1: 5 – – –' } });
  });

  it('is refused in the view’s own sentence, by itself or by a part, and measured again once it can be', async () => {
    const bench = makeBench(1);
    const shy = viewOf('shy', (level) => (level > 5 ? 'Too loud.' : null));
    bench.runs.want(wanting(6, shy));
    expect(bench.feed.shown).toMatchObject({ figure: null, refusal: 'Too loud.', updating: false });
    expect(bench.made).toBe(0);
    bench.runs.want(wanting(1, shy));
    await bench.asked[0]!.answer({ kind: 'refused', sentence: 'It oscillates.' });
    expect(bench.feed.shown).toMatchObject({ figure: null, refusal: 'It oscillates.', updating: false });
    expect(bench.asked).toHaveLength(1);
    bench.runs.want(wanting(2, shy));
    await bench.finishRun();
    expect(bench.feed.shown).toMatchObject({ refusal: null, figure: { caption: '2: 10 20 30 40' } });
  });

  it('says so where a worker fails, and goes on with another', async () => {
    const bench = makeBench(1);
    bench.runs.want(wanting(1));
    await bench.asked[0]!.fail(new Error('out of memory'));
    expect(bench.feed.shown?.refusal).toBe('This figure could not be measured: out of memory.');
    expect(bench.ended).toBe(1);
    bench.runs.want(wanting(2));
    expect(bench.made).toBe(2);
    await bench.finishRun();
    expect(bench.feed.shown).toMatchObject({ refusal: null, figure: { caption: '2: 10 20 30 40' } });
  });

  it('has one worker ready before, and makes do with it where no other can be had', async () => {
    const bench = makeBench(3);
    bench.runs.prepare();
    bench.runs.prepare();
    expect(bench.made).toBe(1);
    bench.runs.want(wanting(1));
    expect(bench.made).toBe(3);
    await bench.asked[0]!.answer({ kind: 'measured', points: 10 });
    await bench.asked[1]!.fail(new Error('no network'));
    await bench.asked[2]!.fail(new Error('no network'));
    expect(bench.feed.shown?.refusal).toBeNull();
    expect(bench.ended).toBe(2);
    for (let at = 3; at < bench.asked.length; at += 1) await bench.asked[at]!.answer({ kind: 'measured', points: bench.asked[at]!.request.part });
    expect(bench.feed.shown).toMatchObject({ updating: false, figure: { caption: '1: 10 20 30 40' } });
    expect(new Set(bench.asked.slice(3).map(({ worker }) => worker))).toEqual(new Set([1]));
    bench.runs.want(wanting(2));
    expect(bench.made, 'the others are not tried again').toBe(3);
  });

  it('is gone when none is wanted, and its workers with the page', async () => {
    const bench = makeBench(2);
    bench.runs.want(wanting(1));
    bench.runs.want(null);
    expect(bench.feed.shown).toBeNull();
    expect(bench.cancelled).toEqual([1, 1]);
    bench.asked[0]!.tell(3);
    bench.drawFrame();
    expect(bench.feed.shown).toBeNull();
    bench.runs.dispose();
    expect(bench.ended).toBe(2);
  });
});

describe('a figure whose values change', () => {
  async function drawn(msEach: number) {
    const bench = makeBench(1);
    bench.runs.want(wanting(0));
    await bench.finishRun(msEach);
    expect(bench.feed.shown).toMatchObject({ updating: false });
    return bench;
  }

  it(`is measured again after ${quietMs} ms of quiet, and says meanwhile that it is not up to date`, async () => {
    const bench = await drawn(cheapMs);
    bench.runs.want(wanting(1));
    expect(bench.feed.shown).toMatchObject({ updating: true, figure: { caption: '0: 10 20 30 40' } });
    bench.pass(quietMs - 1);
    expect(bench.asked).toHaveLength(4);
    bench.pass(1);
    expect(bench.asked).toHaveLength(5);
    await bench.finishRun();
    expect(bench.feed.shown).toMatchObject({ updating: false, figure: { caption: '1: 10 20 30 40' } });
  });

  it('is measured at once where it is cheap, one after the other, the newest next', async () => {
    const bench = await drawn(1);
    bench.runs.want(wanting(1));
    expect(bench.asked).toHaveLength(5);
    bench.runs.want(wanting(2));
    bench.runs.want(wanting(3));
    expect(bench.asked).toHaveLength(5);
    for (let part = 4; part < 8; part += 1) await bench.asked[part]!.answer({ kind: 'measured', points: bench.asked[part]!.request.part });
    // The one that was under way is shown, and said to be old.
    expect(bench.shown.some((shown) => shown?.figure?.caption === '1: 10 20 30 40' && shown.updating)).toBe(true);
    expect(bench.asked.at(-1)!.request.values).toEqual({ level: 3 });
    expect(bench.asked.some(({ request }) => request.values['level'] === 2), 'a value that was passed over is not measured').toBe(false);
    await bench.finishRun();
    expect(bench.feed.shown).toMatchObject({ updating: false, figure: { caption: '3: 10 20 30 40' } });
  });

  it('follows a value that does not come to rest', async () => {
    const bench = await drawn(200);
    const levels = new Set<number>();
    for (let level = 1; level <= 100; level += 1) {
      bench.runs.want(wanting(level));
      bench.pass(16);
      const open = bench.asked.at(-1)!;
      if (level % 4 === 0 && open.request.run > 1) await open.answer({ kind: 'measured', points: open.request.part });
      levels.add(Number(bench.feed.shown!.figure!.caption.split(':')[0]));
    }
    expect(bench.cancelled, 'no run is broken off while the value moves').toEqual([]);
    expect(levels.size, 'values seen on the way').toBeGreaterThan(3);
    bench.pass(quietMs);
    await bench.finishRun();
    if (bench.cancelled.length > 0) await bench.finishRun();
    expect(bench.feed.shown).toMatchObject({ updating: false, figure: { caption: '100: 10 20 30 40' } });
  });

  it('ends what is under way once the value rests', async () => {
    const bench = await drawn(200);
    bench.runs.want(wanting(1));
    bench.pass(quietMs);
    expect(bench.asked).toHaveLength(5);
    bench.runs.want(wanting(2));
    bench.pass(quietMs);
    expect(bench.cancelled).toEqual([2]);
    await bench.asked[4]!.answer({ kind: 'cancelled' });
    expect(bench.asked.at(-1)!.request).toMatchObject({ run: 3, values: { level: 2 } });
  });

  it(`leaves the figure on screen whole for ${wholeMs} ms, then shows what has come of the new one`, async () => {
    const bench = await drawn(200);
    bench.runs.want(wanting(1));
    bench.pass(quietMs);
    bench.pass(wholeMs - 1);
    await bench.asked[4]!.answer({ kind: 'measured', points: 10 });
    bench.drawFrame();
    expect(bench.feed.shown).toMatchObject({ done: 1, updating: true, figure: { caption: '0: 10 20 30 40' } });
    bench.pass(1);
    await bench.asked[5]!.answer({ kind: 'measured', points: 20 });
    bench.drawFrame();
    expect(bench.feed.shown).toMatchObject({ done: 2, updating: true, figure: { caption: '1: 10 20 – –' } });
  });
});
