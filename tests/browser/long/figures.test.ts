/** Figures on the whole page, with its own engine and workers. */
import { userEvent } from 'vitest/browser';
import { describe, expect, it, vi } from 'vitest';
import { figureInSteps, figureViewById, subjectOfSetting } from '../../../dsp/measure/figures/index.ts';
import type { Figure } from '../../../dsp/measure/figures/index.ts';
import { parseSetting, writeSetting } from '../../../dsp/setting/index.ts';
import { figureValues } from '../../../ui/page/kept-figures.ts';
import { figureCsv } from '../../../ui/plot/index.ts';
import { installCompiledCode } from '../../../worklets/compiled-code.ts';
import { allDeep, deep, focused, frames, mountPlayingPage, press } from '../page/support.ts';
import type { MountedPage } from '../page/support.ts';
import { button, middleOf, mounted, mouse, OutputTap, peakOf, rateHz, spinOf, valueOf, within } from '../journeys/support.ts';

// What is measured here for comparison need not take longer than there.
installCompiledCode(true);

const viewId = 'harmonics-level';

/** What the command line makes of the page's setting: parse, plan, measure in one thread. */
function measuredOfFile(page: MountedPage, view = viewId): Figure {
  const { path, joints, baseRateHz } = parseSetting(writeSetting(page.bench.state.setting));
  const steps = figureInSteps(figureViewById(view)!, subjectOfSetting({ path, joints, baseRateHz, scope: { kind: 'path' }, programme: null }), figureValues(page.bench.state, view));
  let step = steps.next();
  while (!step.done) step = steps.next();
  return step.value;
}

const plate = () => deep('figure-plate').shadowRoot!;
const upToDate = (page: MountedPage) => vi.waitFor(() => expect(page.figures.shown).toMatchObject({ updating: false, refusal: null }), within);
const linesOf = (area: Element) => allDeep('svg path', area.shadowRoot!).map((path) => path.getAttribute('d')).join(' ');

/** What has been shown, one entry for each change. */
function watch(page: MountedPage) {
  const seen: { readonly figure: Figure | null; readonly done: number; readonly updating: boolean }[] = [];
  page.figures.subscribe(() => { if (page.figures.shown) seen.push(page.figures.shown); });
  return seen;
}

describe('a figure', () => {
  it('is opened from the margin, drawn as its points arrive, and is to the last digit what the command line makes of the file; of the newest value, when another comes before it is done', async () => {
    const page = await mounted(mountPlayingPage());
    // The probe's verdicts are part of the setting, and of what is measured.
    await vi.waitFor(() => expect(page.bench.state.setting.joints).not.toBeNull(), within);
    const seen = watch(page);
    deep(`[data-view="${viewId}"]`, deep('margin-column').shadowRoot!).click();
    await page.settle();
    expect(deep('.progress', plate()).textContent).toMatch(/^updating/);
    await upToDate(page);
    const drawings = seen.filter(({ figure }) => figure !== null);
    expect(drawings.filter(({ updating }) => updating).length, 'drawn before all had come').toBeGreaterThan(0);
    expect(drawings.map(({ done }) => done)).toEqual(drawings.map(({ done }) => done).toSorted((a, b) => a - b));
    const { figure } = page.figures.shown!;
    expect(figureCsv(figure!)).toBe(figureCsv(measuredOfFile(page)));
    await page.settle();
    expect(deep('.caption', plate()).textContent).toBe(figure!.caption);
    // The table says the same.
    button('Table', plate()).click();
    await page.settle();
    expect(allDeep('tbody tr', deep('figure-tables').shadowRoot!)).toHaveLength(figure!.tables.reduce((sum, { rows }) => sum + rows.length, 0));

    for (const ohms of [22, 33, 47]) page.bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: ohms, phase: 'end' });
    await vi.waitFor(() => expect(page.figures.shown?.done ?? 0).toBeLessThan(page.figures.shown!.parts), within);
    page.bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: 68, phase: 'end' });
    expect(page.figures.shown).toMatchObject({ updating: true });
    await upToDate(page);
    await vi.waitFor(() => expect(figureCsv(page.figures.shown!.figure!)).toBe(figureCsv(measuredOfFile(page))), within);
  });

  it('follows a value that is dialled while it plays, as one undo step, and the sound goes on', async ({ annotate }) => {
    const tap = new OutputTap();
    const page = await mounted(mountPlayingPage());
    page.bench.dispatch({ kind: 'region', region: { startSeconds: 0, endSeconds: 2 } });
    page.bench.dispatch({ kind: 'open-figure', view: viewId });
    await upToDate(page);
    press(' ');
    await tap.untilSounding();
    const seen = watch(page);
    const before = valueOf(page, 's2', 'quiescentAmperes');
    const { x, y } = middleOf(spinOf('quiescentAmperes'));
    const begun = tap.nowFrame;
    const from = performance.now();
    await mouse.press(x, y);
    while (performance.now() - from < 5000) {
      await mouse.move(x + 10 + 60 * Math.sin(4 * Math.PI * (performance.now() - from) / 5000) ** 2, y);
      await frames(1);
    }
    await mouse.move(x + 50, y);
    await mouse.release(x + 50, y);
    await upToDate(page);
    const captions = new Set(seen.flatMap(({ figure }) => (figure ? [figure.caption] : [])));
    expect(captions.size, 'figures seen on the way').toBeGreaterThan(1);
    // The last one is of the value that was let go at, and of the verdicts on its joints.
    await vi.waitFor(() => expect(figureCsv(page.figures.shown!.figure!)).toBe(figureCsv(measuredOfFile(page))), within);
    // Never silent for the length of a bar: 400 ms without a sample above −100 dBFS would be a hole.
    const samples = await tap.samples(begun, begun + 4 * rateHz);
    for (let at = 0; at < samples.length; at += 0.4 * rateHz) expect(peakOf(samples.subarray(at, at + 0.4 * rateHz)), `${at / rateHz} s`).toBeGreaterThan(1e-5);
    expect(page.bench.state.live.solver.capHits).toBe(0);
    await annotate(`${captions.size} figures seen in 5 s of dialling, ${page.readings.lateBlocks} late blocks, load ${Math.round(100 * page.readings.audioLoad)} %`);
    press('z', { ctrlKey: true });
    expect(valueOf(page, 's2', 'quiescentAmperes')).toBe(before);
    press('Escape');
  });

  it('is kept, stands over a changed one under the name of what differs, and gives its setting back; says in its own words why it cannot be had', async () => {
    const page = await mounted(mountPlayingPage());
    await vi.waitFor(() => expect(page.bench.state.setting.joints).not.toBeNull(), within);
    page.bench.dispatch({ kind: 'open-figure', view: viewId });
    await upToDate(page);
    const area = deep('plot-area', plate());
    const kept = figureCsv(page.figures.shown!.figure!);
    button('Keep', plate()).click();
    await page.settle();
    page.bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: 47, phase: 'end' });
    await upToDate(page);
    await frames(3);
    expect(figureCsv(page.figures.shown!.figure!)).not.toBe(kept);
    expect(area.shadowRoot!.textContent).toContain('RE 10 Ω');
    const overlaid = linesOf(area);
    button(/^Restore setting/, deep('kept-figures', plate()).shadowRoot!).click();
    expect(valueOf(page, 's2', 'emitterOhms')).toBe(10);
    await upToDate(page);
    await vi.waitFor(() => expect(figureCsv(page.figures.shown!.figure!)).toBe(kept), within);
    await frames(3);
    expect(linesOf(area)).not.toBe(overlaid);
    press('z', { ctrlKey: true });
    expect(valueOf(page, 's2', 'emitterOhms')).toBe(47);

    page.bench.dispatch({ kind: 'figure-scope', scope: 'stage' });
    page.bench.dispatch({ kind: 'stage-in-out', stageKey: 's2', inCircuit: false });
    await vi.waitFor(() => expect(page.figures.shown?.refusal).toMatch(/out of circuit/), within);
    await page.settle();
    expect(deep('.error', plate()).textContent).toBe(page.figures.shown!.refusal);
    page.bench.dispatch({ kind: 'stage-in-out', stageKey: 's2', inCircuit: true });
    await upToDate(page);
  });

  it('is asked otherwise by its own values, by keyboard alone; nothing sounds of it, nothing of it is a step of the history', async () => {
    const page = await mounted(mountPlayingPage());
    press('f');
    await vi.waitFor(() => expect(focused()?.id).toBe('heading'), within);
    // F goes on from one figure to the next, until it is this one.
    for (let more = 0; more < 40 && page.bench.state.session.figures.open !== viewId; more += 1) {
      press('f');
      await page.settle();
    }
    await vi.waitFor(() => expect(page.bench.state.setting.joints).not.toBeNull(), within);
    await upToDate(page);
    const before = figureCsv(page.figures.shown!.figure!);
    const value = () => figureValues(page.bench.state, viewId)['frequencyHz'];
    while (focused()?.getAttribute('role') !== 'spinbutton' || !/frequency/.test(focused()!.getAttribute('aria-label')!)) await userEvent.tab();
    await userEvent.keyboard('2k{Enter}');
    expect(value()).toBe(2000);
    await upToDate(page);
    expect(figureCsv(page.figures.shown!.figure!)).not.toBe(before);
    await userEvent.keyboard('{Backspace}');
    expect(value()).toBe(1000);
    await upToDate(page);
    await vi.waitFor(() => expect(figureCsv(page.figures.shown!.figure!)).toBe(before), within);
    expect(page.bench.state.live).toMatchObject({ canUndo: false, tonePlaying: false, playing: false });
  });
});
