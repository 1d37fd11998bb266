import { userEvent } from 'vitest/browser';
import { describe, expect, it, vi } from 'vitest';
import { parseSetting, writeSetting } from '../../../dsp/setting/index.ts';
import { allDeep, deep, focused, mountPage, mountPlayingPage, press } from '../page/support.ts';
import { button, editorOf, mounted, spinOf, within } from '../journeys/support.ts';

describe('what stands round the path', () => {
  it('is switched on, edited and undone by keyboard, and frozen with the path', async () => {
    const page = await mounted(mountPage());
    const path = () => page.bench.state.setting.path;
    deep('.end-open', deep('path-strip').shadowRoot!).focus();
    await userEvent.keyboard('{Enter}');
    await page.settle();
    expect(page.bench.state.session.openStageKey).toBe('surroundings');
    expect(deep('stage-sheet').shadowRoot!.textContent).toContain('an ideal source drives the first stage');
    const sheetSwitch = deep('[role="switch"]', deep('stage-sheet').shadowRoot!);
    expect(sheetSwitch.getAttribute('aria-checked')).toBe('false');
    sheetSwitch.focus();
    await userEvent.keyboard('{Enter}');
    await page.settle();
    expect(path().surroundings).toMatchObject({ loadOhms: 1e4 });
    spinOf('loadOhms').focus();
    await userEvent.keyboard('600 ohm{Enter}');
    await page.settle();
    expect(path().surroundings).toMatchObject({ loadOhms: 600 });
    expect(allDeep('.load .ohms', deep('path-strip').shadowRoot!)[0]!.textContent).toBe('600 Ω');
    expect(parseSetting(writeSetting(page.bench.state.setting)).path.surroundings).toEqual(path().surroundings);
    await userEvent.click(button('Undo'));
    expect(path().surroundings).toMatchObject({ loadOhms: 1e4 });
    await userEvent.click(button('Undo'));
    expect(path().surroundings).toBeNull();
    expect(page.bench.state.live.canUndo).toBe(false);
    await page.settle();
    expect(focused()?.textContent).toBe('Undo');
  });

  it('loads the path: with 600 Ω behind the last stage the level at the end falls by its own divider, and sound goes on', async () => {
    const page = await mounted(mountPlayingPage());
    const live = () => page.bench.state.live;
    const levelAtEnd = async () => {
      const { revision } = live();
      await vi.waitFor(() => expect(live().soundingRevision).toBe(revision), within);
      await vi.waitFor(() => expect(live().harmonics?.revision).toBe(revision), within);
      expect(live().fault).toBeNull();
      return live().harmonics!.fundamentalDbu;
    };
    press(' ');
    for (const key of ['s3', 's1']) page.bench.dispatch({ kind: 'remove-stage', stageKey: key });
    const alone = await levelAtEnd();
    page.bench.dispatch({ kind: 'sheet', sheet: 'surroundings', on: true });
    page.bench.dispatch({ kind: 'set-value', stageKey: 'surroundings', parameter: 'sourceOhms', value: 0.1, phase: 'end' });
    page.bench.dispatch({ kind: 'set-value', stageKey: 'surroundings', parameter: 'loadOhms', value: 1e6, phase: 'end' });
    const open = await levelAtEnd();
    page.bench.dispatch({ kind: 'set-value', stageKey: 'surroundings', parameter: 'loadOhms', value: 600, phase: 'end' });
    const loaded = await levelAtEnd();
    // A load of 1 MΩ behind cables of 10 m changes nothing that counts at 200 Hz.
    expect(Math.abs(open - alone)).toBeLessThan(0.05);
    expect(loaded).toBeLessThan(open - 0.1);
    expect(live().engine.kind).toBe('running');
    press('Escape');
  });

  it('has the supply beside it, a list of values', async () => {
    const page = await mounted(mountPage());
    await userEvent.click(button(/^supply/i));
    await page.settle();
    await userEvent.click(deep('[role="switch"]', deep('stage-sheet').shadowRoot!));
    await page.settle();
    expect(page.bench.state.setting.path.supply).not.toBeNull();
    expect(editorOf('temperatureC')).toBeTruthy();
    spinOf('temperatureC').focus();
    await userEvent.keyboard('40{Enter}');
    expect(page.bench.state.setting.path.supply).toMatchObject({ temperatureC: 40 });
  });
});
