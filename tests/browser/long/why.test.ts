/** A cause is read off the figure, put on trial and heard away. */
import { describe, expect, it, vi } from 'vitest';
import { writeSetting } from '../../../dsp/setting/index.ts';
import { allDeep, deep, mountPlayingPage, press, release } from '../page/support.ts';
import { button, mounted, OutputTap, within } from '../journeys/support.ts';

describe('where harmonics come from', () => {
  it('the table offers the crossover to be heard; out, the path goes on without it, as loud, and the setting stays as it is', async () => {
    const tap = new OutputTap();
    const page = await mounted(mountPlayingPage());
    page.bench.dispatch({ kind: 'region', region: { startSeconds: 0, endSeconds: 0.6 } });
    page.bench.dispatch({ kind: 'open-figure', view: 'why' });
    await vi.waitFor(() => expect(page.figures.shown).toMatchObject({ updating: false, refusal: null }), within);
    expect(page.figures.shown!.figure!.caption).toContain('come mostly from crossover of the output pair, stage 2');
    await page.settle();
    const plate = deep('figure-plate').shadowRoot!;
    button('Table', plate).click();
    await page.settle();
    const row = allDeep('tbody tr', deep('figure-tables', plate).shadowRoot!).find((each) => each.textContent?.includes('crossover of the output pair, stage 2'))!;
    row.querySelector<HTMLButtonElement>('button.trial')!.click();
    const [, second] = page.bench.state.setting.path.stages;
    const onTrial = { kind: 'without', key: second!.key, mechanism: 'crossover' };
    expect(page.bench.state.session.onTrial).toEqual(onTrial);
    await page.settle();
    const box = deep('in-out-box').shadowRoot!;
    expect(box.querySelector('select')!.selectedOptions[0]!.textContent).toBe('whole path, without crossover of the output pair of stage 2');

    // Matched anew: the worker has planned both ways and played the region through them.
    await vi.waitFor(() => expect(page.bench.state.live.match.kind).toBe('matched'), within);
    expect(page.bench.state.setting.levelMatch!.onTrial).toEqual({ stageIndex: 1, without: 'crossover' });
    const before = writeSetting(page.bench.state.setting);
    press(' ');
    release(' ');
    await tap.untilSounding();
    press('c');
    release('c');
    await page.settle();
    expect(page.bench.state.live.trialIn).toBe(false);
    expect(box.querySelector('.box')!.textContent).toBe('Without it');
    const switched = tap.nowFrame;
    await vi.waitFor(() => expect(tap.nowFrame).toBeGreaterThan(switched + 24_000), within);
    expect(page.bench.state.live.playing).toBe(true);
    expect(writeSetting(page.bench.state.setting)).toBe(before);
  });
});
