import axe from 'axe-core';
import { userEvent } from 'vitest/browser';
import { describe, expect, it, vi } from 'vitest';
import { readyPaths } from '../../../dsp/setting/index.ts';
import { allDeep, deep, focused, mountPage, mountPlayingPage, press } from '../page/support.ts';
import { button, mounted, within } from './support.ts';

describe('ready paths', () => {
  it.each([[1280, 800], [640, 800], [390, 844]])('open at %i × %i by a button, are read as headings, closed by Escape, and pass the rules', async (width, height) => {
    const page = await mounted(mountPage(undefined, width, height));
    if (width === 390) {
      await userEvent.click(button('More'));
      await page.settle();
    }
    await userEvent.click(button('Paths'));
    await page.settle();
    expect(focused()?.textContent).toBe('Ready paths');
    const list = deep('ready-path-list').shadowRoot!;
    expect(allDeep('h3', list).map(({ textContent }) => textContent)).toEqual(readyPaths.map(({ title }) => title));
    expect(document.documentElement.scrollWidth - document.documentElement.clientWidth).toBe(0);
    const { violations } = await axe.run(page.root);
    expect(violations.map(({ id }) => id)).toEqual([]);
    await userEvent.keyboard('{Escape}');
    await page.settle();
    expect(allDeep('ready-path-list')).toHaveLength(0);
    expect(focused()?.id).toBe('shelf-paths');
  });

  it('put a path on the bench, heard and measured, with what to listen for in the margin; undo brings back what was there', async () => {
    const page = await mounted(mountPlayingPage());
    const live = () => page.bench.state.live;
    const before = page.bench.state.setting.title;
    press(' ');
    await vi.waitFor(() => expect(live().engine.kind).toBe('running'), within);
    // Paths whose stages are measured in a moment; the longer ones are measured where they are made.
    const quick = readyPaths.filter(({ id }) => ['rehearsal', 'by-the-window', 'one-microphone'].includes(id));
    expect(quick).toHaveLength(3);
    for (const { id, title, listenFor } of quick) {
      page.bench.dispatch({ kind: 'shelf', shelf: 'paths' });
      await page.settle();
      await userEvent.click(button(`Take this path: ${title}`));
      const { revision } = live();
      await vi.waitFor(() => expect(live().soundingRevision, id).toBe(revision), within);
      await vi.waitFor(() => expect(live().harmonics?.revision, id).toBe(revision), within);
      expect(live().fault, id).toBeNull();
      expect(live().harmonics!.refusal, id).toBeNull();
      await page.settle();
      const margin = deep('margin-column').shadowRoot!;
      expect(margin.textContent).toContain(listenFor);
      expect(allDeep('h2', margin).map(({ textContent }) => textContent)).toContain('Listen for');
    }
    press('Escape');
    for (let step = 0; step < quick.length; step += 1) page.bench.dispatch({ kind: 'undo' });
    expect(page.bench.state.setting.title).toBe(before);
    await page.settle();
    expect(allDeep('h2', deep('margin-column').shadowRoot!).map(({ textContent }) => textContent)).not.toContain('Listen for');
  });
});
