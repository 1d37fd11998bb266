/** Every shelf, and what takes the whole page: rules of accessibility, sizes of targets and text, focus there and back. */
import axe from 'axe-core';
import { userEvent } from 'vitest/browser';
import { afterEach, describe, expect, it } from 'vitest';
import { shelves } from '../../../ui/page/shelves.ts';
import { openingState } from '../../../ui/page/opening.ts';
import type { BenchState } from '../../../ui/page/state.ts';
import { allDeep, deep, focused, frames, loops, mountPage } from '../page/support.ts';
import type { MountedPage } from '../page/support.ts';

let page: MountedPage;
afterEach(async () => {
  delete document.documentElement.dataset['look'];
  await page.remove();
});

const calibration = { levelDba: 70, meanSquare: 1e-5, equipment: 'headphones', monitorDb: -20, day: '2026-11-25' } as const;

/** As much as can stand on the shelves at once. */
function fullState(look: 'light' | 'dark'): BenchState {
  const opening = openingState(loops);
  const hearing = { ...opening.live.hearing, calibration, equipment: 'headphones', heardDba: 71, days: [{ day: '2026-11-25', occupationalShare: 0.1, pascalSquaredHours: 0.1, seconds: 60 }] } as const;
  return { ...opening, session: { ...opening.session, look }, live: { ...opening.live, hearing } };
}

async function faults(): Promise<string[]> {
  const { violations } = await axe.run(document.body, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] });
  return [...violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ html }) => html.slice(0, 160)).join(' | ')}`), ...smallThings(), ...sideways()];
}

function smallThings(): string[] {
  return allDeep<HTMLElement>('*', deep('stage-bench').shadowRoot!).flatMap((element) => {
    if (!element.checkVisibility({ visibilityProperty: true }) || element.closest('.unseen')) return [];
    const { width, height } = element.getBoundingClientRect();
    const small = element.matches('button, select, input:not([type="checkbox"], [type="radio"]), textarea, summary, [role="spinbutton"]') && !(width >= 23.9 && height >= 23.9);
    const printed = [...element.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.textContent!.trim() !== '');
    const fine = printed && !element.matches('style, script, text, tspan') && Number.parseFloat(getComputedStyle(element).fontSize) < 13;
    return small || fine ? [`${small ? 'target' : 'text'}: ${element.outerHTML.slice(0, 120)} ${width.toFixed(0)} × ${height.toFixed(0)}`] : [];
  });
}

function sideways(): string[] {
  const { scrollWidth, clientWidth } = document.documentElement;
  return scrollWidth > clientWidth ? [`sideways: ${scrollWidth} in ${clientWidth}`] : [];
}

const sizes = [['light', 1280, 800], ['dark', 390, 844], ['light', 320, 640]] as const;

describe.each(sizes)('%s, %i × %i', (look, width, height) => {
  it('every shelf and whole page keeps the rules, with its heading in focus', async () => {
    page = await mountPage(fullState(look), width, height);
    const found: Record<string, string[]> = {};
    for (const { name } of shelves) {
      page.bench.dispatch({ kind: 'shelf', shelf: name });
      await page.settle();
      await frames(2);
      expect(focused()?.localName, name).toBe('h2');
      const faulty = await faults();
      if (faulty.length > 0) found[name] = faulty;
    }
    for (const whole of ['report', 'session-log'] as const) {
      page.bench.dispatch({ kind: 'whole-page', page: whole });
      await page.settle();
      await frames(2);
      expect(focused()?.localName, whole).toMatch(/^h[12]$/);
      const faulty = await faults();
      if (faulty.length > 0) found[whole] = faulty;
    }
    expect(found).toEqual({});
  });
});

it('a shelf is left by Escape to the button that opened it; Tab goes from its heading into it, and on to the stage', async () => {
  page = await mountPage(fullState('light'));
  for (const { name } of shelves) {
    deep(`#shelf-${name}`).focus();
    await userEvent.keyboard('{Enter}');
    await page.settle();
    await frames(2);
    const shelf = deep('.shelf');
    expect(shelf.contains(outermost()), name).toBe(true);
    await userEvent.tab();
    expect(shelf.contains(outermost()), `${name}: Tab`).toBe(true);
    await userEvent.keyboard('{Escape}');
    await page.settle();
    expect(focused()?.id).toBe(`shelf-${name}`);
  }
});

/** The child of the page's root that holds the focus. */
function outermost(): Element | null {
  return deep('stage-bench').shadowRoot!.activeElement;
}
