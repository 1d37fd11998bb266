/** The spectrum of what plays, in the real context: tap, ring or messages, worker, feed, and the figure drawn of it. */
import { afterEach, describe, expect, it } from 'vitest';
import { factsOfSetting, figureViewById } from '../../../dsp/measure/figures/index.ts';
import type { SpectrumPoints } from '../../../dsp/measure/index.ts';
import { planPath } from '../../../dsp/path/index.ts';
import { encodeWholeWav } from '../../../dsp/recording/index.ts';
import { defaultValues, type StageValues } from '../../../dsp/stages/index.ts';
import { Bench } from '../../../ui/page/bench.ts';
import { createEngine } from '../../../ui/page/engine.ts';
import { AudioGraph } from '../../../ui/page/engine/audio-graph.ts';
import { SpectrumFeed, type TappedGraph } from '../../../ui/page/engine/spectrum-feed.ts';
import { openingState } from '../../../ui/page/opening.ts';
import type { LoopEntry } from '../../../ui/page/state.ts';
import type { FromProcessor } from '../../../worklets/messages.ts';
import { pathOf, plucked } from '../../path/support.ts';
import { modulesOf } from './support.ts';

const view = figureViewById('spectrum')!;
const standard = defaultValues({ parameters: view.parameters });
const path = pathOf([{ stage: 'harmonic-shaping', values: { secondDb: -40, thirdSign: 'off', bandLimitHz: 40e3 } }], { oversamplingFactor: 2 });
const rateHz = 48_000;
const facts = factsOfSetting({ path, baseRateHz: rateHz, scope: { kind: 'path' }, programme: null });
const within = { timeout: 20_000, interval: 30 };
const silentMonitor = 1e-4;

let graph: AudioGraph | null = null;
let feed: SpectrumFeed | null = null;
afterEach(async () => {
  feed?.dispose();
  await graph?.close();
  feed = graph = null;
});

/** A node that plays at a monitor level that nobody hears; what the spectrum is told, and when. */
async function open(perSecond = 30) {
  const heard: FromProcessor[] = [];
  graph = new AudioGraph(rateHz, (message) => heard.push(message));
  const plan = planPath(path, rateHz);
  await graph.build({ plan, modules: modulesOf(plan), revision: 1, trialIn: true, monitorGain: silentMonitor }, new MessageChannel().port1);
  await expect.poll(() => heard.some(({ kind }) => kind === 'ready'), within).toBe(true);
  const made = new SpectrumFeed({ rateHz: () => rateHz, perSecond: () => perSecond });
  feed = made;
  const told: { readonly points: SpectrumPoints; readonly atMs: number }[] = [];
  const start = (values: StageValues = {}): void => {
    told.length = 0;
    made.start({ ...standard, ...values }, (points) => told.push({ points, atMs: performance.now() }));
  };
  return { graph, feed: made, told, start, last: () => told.at(-1)?.points };
}

const db = (power: number): number => 10 * Math.log10(power);

/** Without shared memory: what a page gets that is not cross-origin isolated. */
function notIsolated<T>(action: () => T): T {
  const before = Object.getOwnPropertyDescriptor(globalThis, 'crossOriginIsolated');
  Object.defineProperty(globalThis, 'crossOriginIsolated', { value: false, configurable: true });
  try {
    return action();
  } finally {
    if (before) Object.defineProperty(globalThis, 'crossOriginIsolated', before);
    else delete (globalThis as { crossOriginIsolated?: boolean }).crossOriginIsolated;
  }
}

describe.each([['through shared memory', true], ['through messages', false]])('what plays, %s', (_, shared) => {
  const attach = (to: SpectrumFeed, tapped: TappedGraph): void => {
    if (shared) to.attach(tapped);
    else notIsolated(() => to.attach(tapped));
  };

  it('has a tone at its frequency and level, and what the stage adds', async () => {
    expect(globalThis.crossOriginIsolated).toBe(true);
    const { graph: playing, feed: to, start, last, told } = await open();
    start({ size: '8192', averaging: 'linear' });
    await expect.poll(() => last()?.of, within).toBe('stopped');
    expect(last()!.count).toBe(0);
    expect(view.draw(facts, standard, [last()]).caption).toBe('Nothing plays: press Play, and its spectrum stands here.');
    attach(to, playing);
    playing.send({ kind: 'tone', tone: { frequencyHz: 1234.5, peak: 0.1 } });
    await expect.poll(() => last()?.count ?? 0, within).toBeGreaterThan(4);
    const [first, second] = last()!.tones;
    // 0.05 dB and a tenth of a hertz; monitor level and ramp are behind the tap.
    expect(Math.abs(first!.hz - 1234.5)).toBeLessThan(0.1);
    expect(Math.abs(db(first!.power) + 20)).toBeLessThan(0.05);
    expect(Math.abs(second!.hz - 2469)).toBeLessThan(0.1);
    expect(Math.abs(db(second!.power / first!.power) + 40)).toBeLessThan(0.05);
    expect(view.draw(facts, { ...standard, size: '8192', averaging: 'linear' }, [last()]).caption).toMatch(/^What plays, at the output: strongest at 1\.23[45] kHz, −20\.0 dBFS or \+4\.0 dBu; mean of \d+ transforms/);
    const span = told.at(-1)!.atMs - told[0]!.atMs;
    expect(told.length).toBeLessThanOrEqual(2 + (30 * span) / 1000);
    // Asked for while it plays: the input has the tone alone.
    if (shared) start({ size: '8192', tapped: 'input' });
    else notIsolated(() => start({ size: '8192', tapped: 'input' }));
    await expect.poll(() => last()?.count ?? 0, within).toBeGreaterThan(2);
    expect(last()!.tones).toHaveLength(1);
    playing.send({ kind: 'tone', tone: null });
    await expect.poll(() => last()?.of, within).toBe('stopped');
    expect(view.draw(facts, standard, [last()]).caption).toContain('Nothing plays; what played last at the output');
  });

  it('has a loop’s partials', async () => {
    const { graph: playing, feed: to, start, last } = await open();
    // Whole periods of every partial, one second: a line of each is where the loop has it.
    const loop = plucked(48_000);
    attach(to, playing);
    playing.send({ kind: 'programme', channels: [loop, loop], region: { startFrame: 0, endFrame: 48_000 }, frame: 0 });
    playing.send({ kind: 'play' });
    start({ size: '32768', averaging: 'none', window: 'hann' });
    await expect.poll(() => last()?.count ?? 0, within).toBeGreaterThan(1);
    expect(last()!.channels).toBe(2);
    // Struck 20 times a second: lines 20 Hz apart, the strongest nearest to the lowest partial.
    expect(Math.abs(last()!.tones[0]!.hz - 220)).toBeLessThan(3);
  });
});

describe('stopping', () => {
  it('ends what is told, and another start goes on', async () => {
    const { graph: playing, feed: to, start, last, told } = await open();
    const taps: boolean[] = [];
    to.attach({
      send: (message, transfer) => {
        if (message.kind === 'tap') taps.push(message.tap !== null);
        playing.send(message, transfer);
      },
    });
    expect(taps).toEqual([]);
    playing.send({ kind: 'tone', tone: { frequencyHz: 500, peak: 0.2 } });
    start({ size: '1024', averaging: 'none' });
    await expect.poll(() => told.length, within).toBeGreaterThan(5);
    to.stop();
    expect(taps).toEqual([true, false]);
    const before = told.length;
    await new Promise((resolve) => { setTimeout(resolve, 400); });
    expect(told).toHaveLength(before);
    start({ size: '1024', averaging: 'none' });
    await expect.poll(() => last()?.count ?? 0, within).toBeGreaterThan(3);
    expect(last()!.of).toBe('playing');
  });

  it('goes on with another node, and not oftener than it is asked', async () => {
    const { graph: playing, feed: to, start, last, told } = await open(4);
    start({ size: '1024', averaging: 'none' });
    to.attach(playing);
    playing.send({ kind: 'tone', tone: { frequencyHz: 500, peak: 0.2 } });
    await expect.poll(() => last()?.count ?? 0, within).toBeGreaterThan(0);
    to.attach(null);
    await new Promise((resolve) => { setTimeout(resolve, 400); });
    to.attach(playing);
    told.length = 0;
    await expect.poll(() => told.length, within).toBeGreaterThan(4);
    // 250 ms apart, but for the clock's slack.
    const gaps = told.slice(1).map(({ atMs }, k) => atMs - told[k]!.atMs);
    expect(gaps.reduce((sum, gap) => sum + gap, 0) / gaps.length).toBeGreaterThan(230);
  });
});

describe('on the bench', () => {
  it('is shown while its figure is open and the loop plays, and asks nothing of the audio thread when it is closed', async () => {
    const wav = encodeWholeWav({ encoding: 'pcm24', channelCount: 1, rateHz }, [plucked(48_000)], { clippedSamples: 0, notNumberSamples: 0 });
    const loops: readonly LoopEntry[] = [{ identifier: 'piano', title: 'test', file: URL.createObjectURL(new Blob([wav as BlobPart])), channels: 1, durationSeconds: 1 }];
    const opening = openingState(loops);
    const bench = new Bench(opening, { nowMs: () => performance.now(), today: () => '2026-11-26' }, opening.setting);
    const engine = createEngine({ dispatch: (action) => bench.dispatch(action), loops, baseUrl: document.baseURI });
    try {
      bench.subscribe((before, after, action) => engine.follow(before, after, action));
      engine.begin(bench.state);
      bench.dispatch({ kind: 'open-figure', view: 'spectrum' });
      const caption = (): string => engine.figures.shown?.figure?.caption ?? '';
      await expect.poll(caption, within).toContain('Nothing plays');
      bench.dispatch({ kind: 'play' });
      await expect.poll(caption, within).toContain('What plays, at the output: strongest at');
      bench.dispatch({ kind: 'pause' });
      await expect.poll(caption, within).toContain('Nothing plays; what played last');
      bench.dispatch({ kind: 'play' });
      await expect.poll(caption, within).toContain('What plays');
      bench.dispatch({ kind: 'open-figure', view: null });
      expect(engine.figures.shown).toBeNull();
      let shows = 0;
      engine.figures.subscribe(() => { shows += 1; });
      await new Promise((resolve) => { setTimeout(resolve, 300); });
      expect(shows).toBe(0);
    } finally {
      await engine.dispose();
    }
  });
});
