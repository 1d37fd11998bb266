import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { planPath, renderInSteps } from '../../../dsp/path/index.ts';
import { encodeWholeWav, parseWholeRecording } from '../../../dsp/recording/index.ts';
import { parseEvents } from '../../../dsp/setting/index.ts';
import { deep, mountPlayingPage, press, savedFiles } from './support.ts';
import type { MountedPage, SavedFile } from './support.ts';

/** What the page hands over for saving, with the real engine and its workers. */
describe('render and log', () => {
  let page: MountedPage;
  let saved: SavedFile[];
  const live = () => page.bench.state.live;
  const shelfButton = (label: string) => [...deep('hand-on-shelf').shadowRoot!.querySelectorAll('button')].find((button) => button.textContent!.startsWith(label))!;

  beforeAll(async () => {
    saved = savedFiles();
    page = await mountPlayingPage();
    page.bench.dispatch({ kind: 'shelf', shelf: 'hand-on' });
    page.bench.dispatch({ kind: 'loop', loop: 'held-chord' });
    await vi.waitFor(() => expect(live().harmonics?.revision).toBe(live().revision), { timeout: 20_000 });
    await vi.waitFor(() => expect(page.readings.loopSeconds).toBe(8), { timeout: 20_000 });
  });
  afterAll(async () => {
    vi.restoreAllMocks();
    await page.remove();
  });

  it('says that there is no log before anything has played', () => {
    shelfButton('Save the log').click();
    expect(saved).toHaveLength(0);
    expect(live().message?.text).toContain('There is no log yet');
  });

  it('stops a render that is not wanted any more, and hands over nothing', async () => {
    shelfButton('Render').click();
    await page.settle();
    expect(shelfButton('Stop render')).toBeDefined();
    await vi.waitFor(() => expect(live().rendering).toBeGreaterThan(0), { timeout: 20_000, interval: 10 });
    shelfButton('Stop render').click();
    await page.settle();
    expect(live().rendering).toBe(null);
    expect(shelfButton('Render')).toBeDefined();
    expect(saved).toHaveLength(0);
  });

  it('renders the loop to the bytes that the path itself gives', async () => {
    page.bench.dispatch({ kind: 'match', on: false });
    // The probe of the joints may come in between: the render is that of the setting as it then stands.
    await vi.waitFor(() => expect(page.bench.state.setting.joints).not.toBe(null), { timeout: 20_000 });
    const { path, joints } = page.bench.state.setting;
    shelfButton('Render').click();
    await vi.waitFor(() => expect(saved).toHaveLength(1), { timeout: 60_000 });
    expect(saved[0]!.name).toBe('held-chord-through-village-hall-first-look.wav');
    await vi.waitFor(() => expect(live().rendering).toBe(null));
    const { format, channels } = parseWholeRecording(new Uint8Array(await saved[0]!.blob.arrayBuffer()));
    expect(format).toMatchObject({ encoding: 'pcm24', rateHz: 48_000, frameCount: 8 * 48_000 });
    const loop = parseWholeRecording(new Uint8Array(await (await fetch('/demo-audio/held-chord.wav')).arrayBuffer())).channels;
    // The first tenth of a second, of which the loop's next tenth is enough to know everything.
    const steps = renderInSteps(planPath(path, 48_000, { joints }), loop.map((channel) => channel.slice(0, 9600)));
    let step = steps.next();
    while (!step.done) step = steps.next();
    const direct = encodeWholeWav({ encoding: 'pcm24', channelCount: 1, rateHz: 48_000 }, step.value.map((channel) => channel.slice(0, 4800)), { clippedSamples: 0, notNumberSamples: 0 });
    expect(channels[0]!.slice(0, 4800)).toEqual(parseWholeRecording(direct).channels[0]!);
  });

  it('hands over the log of what was changed while playing', async () => {
    saved.splice(0);
    press(' ');
    await vi.waitFor(() => expect(Math.max(...page.readings.monitorPeakDb)).toBeGreaterThan(-100), { timeout: 20_000 });
    page.bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'quiescentAmperes', value: 0.001, phase: 'step' });
    await vi.waitFor(() => expect(live().soundingRevision).toBe(live().revision), { timeout: 20_000 });
    await vi.waitFor(() => {
      shelfButton('Save the log').click();
      expect(saved).not.toHaveLength(0);
      const newest = saved.at(-1)!;
      expect(newest.name).toBe('village-hall-first-look.log.json');
    }, { timeout: 20_000, interval: 200 });
    const log = parseEvents(await saved.at(-1)!.blob.text());
    expect(log.programme).toBe('held-chord');
    expect(log.changes.slice(0, 4).map(({ kind }) => kind)).toEqual(['path', 'switch', 'match', 'position']);
    expect(log.changes.some((change) => change.kind === 'values' && change.values['quiescentAmperes'] === 0.001)).toBe(true);
    press('Escape');
  });
});
