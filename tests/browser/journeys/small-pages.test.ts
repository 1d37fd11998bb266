import { userEvent } from 'vitest/browser';
import { describe, expect, it, vi } from 'vitest';
import { defaultValues, stageById } from '../../../dsp/stages/index.ts';
import { allDeep, deep, focused, focusPath, frames, mountPage } from '../page/support.ts';
import type { MountedPage } from '../page/support.ts';
import { button, coarsePointer, editorOf, finger, middleOf, mounted, numberParameter, spinOf, valueOf, within } from './support.ts';

/** Of the opening's stage that is open: those that do something as it stands. */
const shownParameters = () => {
  const definition = stageById('push-pull');
  const ids = definition.relevant!(defaultValues(definition));
  return definition.parameters.filter(({ id }) => ids.includes(id));
};
const sideways = () => document.documentElement.scrollWidth - document.documentElement.clientWidth;

describe('J12: a finger on the narrow page', () => {
  /** A value well clear of the docks. */
  async function narrow(): Promise<{ page: MountedPage; place: { x: number; y: number } }> {
    await coarsePointer();
    const page = await mounted(mountPage(undefined, 390, 844));
    expect(matchMedia('(pointer: coarse)').matches).toBe(true);
    spinOf('emitterOhms').scrollIntoView({ block: 'center' });
    await frames(3);
    return { page, place: middleOf(spinOf('emitterOhms')) };
  }

  it('taps a value and gets the slip: field, prefixes, − and +, default, all 44 px high', async () => {
    const { page, place } = await narrow();
    await finger([[place.x, place.y]]);
    await vi.waitFor(() => expect(allDeep('value-slip')).toHaveLength(1), within);
    await page.settle();
    const slip = deep('value-slip').shadowRoot!;
    expect(slip.textContent).toContain('emitter resistors');
    for (const control of allDeep('button, input', slip)) expect(control.getBoundingClientRect().height, control.textContent ?? '').toBeGreaterThanOrEqual(44);
    const more = middleOf(button(/: more$/, slip));
    await finger([[more.x, more.y]]);
    await vi.waitFor(() => expect(valueOf(page, 's2', 'emitterOhms')).toBe(11), within);
    await userEvent.fill(deep('input', slip), '22');
    await userEvent.keyboard('{Enter}');
    expect(valueOf(page, 's2', 'emitterOhms')).toBe(22);
    await userEvent.click(button('Done', slip));
    await page.settle();
    expect(allDeep('value-slip')).toHaveLength(0);
    expect(focused()).toBe(spinOf('emitterOhms'));
    expect(sideways()).toBe(0);
  });

  it('drags sideways over a value: the value moves, the page does not', async () => {
    const { page, place: { x, y } } = await narrow();
    const scrolled = scrollY;
    const { taper } = numberParameter('push-pull', 'emitterOhms');
    expect(taper).toBe('logarithmic');
    await finger([[x, y], [x - 4, y], [x - 12, y + 1], [x - 24, y + 1], [x - 40, y + 2]]);
    await frames(3);
    expect(valueOf(page, 's2', 'emitterOhms')).toBeLessThan(10);
    expect(scrollY).toBe(scrolled);
    expect(allDeep('value-slip')).toHaveLength(0);
    page.bench.dispatch({ kind: 'undo' });
    expect(valueOf(page, 's2', 'emitterOhms'), 'one drag, one step').toBe(10);
    expect(page.bench.state.live.canUndo).toBe(false);
  });

  it('scrolls the page when it moves up over a value, and changes nothing', async () => {
    const { page, place: { x, y } } = await narrow();
    const before = page.bench.state.setting;
    const scrolled = scrollY;
    const up = Array.from({ length: 12 }, (_, index) => [x + (index % 2), y - 12 * index] as const);
    await finger(up);
    await vi.waitFor(() => expect(scrollY).toBeGreaterThan(scrolled + 20), within);
    expect(page.bench.state.setting).toBe(before);
    expect(page.bench.state.live.canUndo).toBe(false);
    expect(page.bench.dragging).toBe(false);
    expect(allDeep('value-slip')).toHaveLength(0);
  });

  it('holds the box for a glance, and it comes back', async () => {
    const { page } = await narrow();
    const { x, y } = middleOf(deep('.box'));
    await finger([[x, y]]);
    await vi.waitFor(() => expect(page.bench.state.live.trialIn).toBe(false), within);
    await finger([[x, y]]);
    await vi.waitFor(() => expect(page.bench.state.live.trialIn).toBe(true), within);
  });
});

/** Names of everything Tab comes to, until it leaves the page. */
async function namesReached(): Promise<Set<string>> {
  const start = document.createElement('button');
  document.body.prepend(start);
  start.focus();
  start.remove();
  scrollTo(0, 0);
  const names = new Set<string>();
  const seen = new Set<Element>();
  for (let stop = 0; stop < 150; stop += 1) {
    await userEvent.tab();
    const element = focused();
    if (!element || element === document.body || seen.has(element)) return names;
    seen.add(element);
    const region = focusPath().find((name) => /-(line|strip|sheet|ledger|column)$/.test(name)) ?? '';
    names.add(`${region}: ${element.getAttribute('aria-label') ?? element.textContent!.replace(/\s+/g, ' ').trim()}`);
  }
  throw new Error('the focus does not leave the page');
}

const loopLine = /^listening surface/;
/** What the low page offers in another way: the values stand in the list already, percent and phase side by side, the loop line takes S, E and plus. */
const elsewhere: Readonly<Record<string, RegExp>> = {
  'parts list': /^re, emitter resistors$/,
  phase: /^probe level$/, 'start here': loopLine, 'look closer': loopLine, 'end here': loopLine, 'match off': /turn the match off$/, 'turn off the match': /turn the match off$/,
};

describe('J13: 1280 × 800 at 200 %, which is 640 × 400', () => {
  it('folds the docks to a line each, keeps half the height for the stage, and reaches by Tab all that the wide page reaches', async () => {
    const wide = await mounted(mountPage(undefined, 1280, 800));
    const parameters = shownParameters().map(({ designator, label }) => (designator === undefined ? label : `${designator}, ${label}`));
    const wanted = await namesReached();
    for (const name of parameters) expect([...wanted], name).toContain(`stage-sheet: ${name}`);
    await wide.remove();

    const page = await mounted(mountPage(undefined, 640, 400));
    expect(page.root).toMatchObject({ shape: 'docked', low: true });
    expect(sideways()).toBe(0);
    const docks = parseFloat(document.documentElement.style.getPropertyValue('--docks'));
    expect(docks).toBeLessThanOrEqual(200);
    for (const name of ['listening-strip', 'harmonic-ledger']) expect(deep(name).getBoundingClientRect().height, name).toBeLessThanOrEqual(72);
    // What is folded is opened first: the margin and the ledger; each by a button of its own.
    expect(deep('harmonic-ledger').shadowRoot!.textContent).not.toContain('Hold');
    const opener = button('open', deep('harmonic-ledger').shadowRoot!);
    opener.focus();
    await userEvent.keyboard('{Enter}');
    deep('.disclosure').focus();
    await userEvent.keyboard('{Enter}');
    await page.settle();
    const bare = (names: Iterable<string>) => [...names].map((name) => name.replace(/^[a-z-]+: /, '').toLowerCase());
    const reached = bare(await namesReached());
    const missing = bare(wanted).filter((name) => !reached.some((other) => other === name || elsewhere[name]?.test(other)));
    expect(missing).toEqual([]);
    expect(sideways()).toBe(0);
  });

  it('shows a value that is gone to clear of the docks, with what it says under it', async () => {
    const page = await mounted(mountPage(undefined, 640, 400));
    for (const { id, kind } of shownParameters()) {
      if (kind !== 'number') continue;
      spinOf(id).focus();
      await frames(3);
      const docks = parseFloat(document.documentElement.style.getPropertyValue('--docks'));
      const { top, bottom } = spinOf(id).getBoundingClientRect();
      expect(top >= -0.5 && bottom <= 400 - docks + 0.5, `${id}: ${top}–${bottom} of ${400 - docks}`).toBe(true);
    }
    spinOf('emitterOhms').focus();
    await userEvent.keyboard('4x7{Enter}');
    await page.settle();
    expect(deep('.error', editorOf('emitterOhms').shadowRoot!).textContent).toContain('Kept 10 Ω');
  });
});

describe('acceptance 4: targets under a finger', () => {
  it.each([[390, 844], [640, 400], [1280, 800]] as const)('are 44 px at %i × %i, or said to be less', async (width, height) => {
    await coarsePointer();
    const page = await mounted(mountPage(undefined, width, height));
    await page.settle();
    const targets = allDeep('button, select, input:not([hidden]):not([type="file"]), textarea, [role="spinbutton"], [role="application"]', page.root.shadowRoot!)
      .filter((element) => element.getClientRects().length > 0 && element.getAttribute('aria-hidden') !== 'true')
      // What is ticked takes the finger on its words as well.
      .map((element) => (element.matches('[type="radio"], [type="checkbox"]') ? element.closest<HTMLElement>('label') ?? element : element));
    expect(targets.length).toBeGreaterThan(30);
    const small = targets.filter((element) => {
      const { width: wide, height: tall } = element.getBoundingClientRect();
      // A cell of the narrow path is 35 × 40; the overview of the loop has a row of its own height, and keys for all it does.
      if (element.closest('.cells')) return wide < 34.5 || tall < 39.5;
      return element.id === 'surface' ? tall < 18 : wide < 43.5 || tall < 43.5;
    });
    expect(small.map((element) => {
      const { width: wide, height: tall } = element.getBoundingClientRect();
      return `${element.localName} ${element.getAttribute('aria-label') ?? element.textContent!.trim().slice(0, 30)}: ${Math.round(wide)} × ${Math.round(tall)}`;
    })).toEqual([]);
  });
});
