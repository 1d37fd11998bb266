import axe from 'axe-core';
import { userEvent } from 'vitest/browser';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { defaultValues, stageById, stages } from '../../../dsp/stages/index.ts';
import { openingState } from '../../../ui/page/opening.ts';
import { allDeep, deep, focused, focusPath, frames, harmonicsAt, loops, mountPage, regionOf } from './support.ts';
import type { MountedPage } from './support.ts';

let page: MountedPage;
afterEach(() => {
  page.remove();
  document.documentElement.style.fontSize = '';
  vi.restoreAllMocks();
});

const sizes = [[1280, 800], [1280, 600], [1100, 800], [800, 900], [640, 400], [390, 844], [320, 640]] as const;
const box = (name: string) => deep(name).getBoundingClientRect();
const sideways = () => document.documentElement.scrollWidth - document.documentElement.clientWidth;

async function mountWithFigures(width: number, height: number): Promise<void> {
  page = await mountPage(undefined, width, height);
  page.bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -60) });
  page.bench.dispatch({ kind: 'matched', revision: 1, match: { kind: 'matched', inGainDb: -1.84, outGainDb: 0, residualDb: 0.02, waitsForSwitch: false } });
  await page.settle();
}

describe('wide page at 1280 × 800', () => {
  it('has the rows 40 104 504 120 32 and the columns 200, 664, 320', async () => {
    await mountWithFigures(1280, 800);
    const strip = deep('section', deep('listening-strip').shadowRoot!).getBoundingClientRect();
    const rows = [box('title-line').height, box('nav').height, strip.top - box('.main').top, strip.height, box('state-line').height];
    expect(rows.map(Math.round)).toEqual([40, 104, 504, 120, 32]);
    const margin = box('margin-column');
    const stage = box('main');
    const ledger = box('.ledger');
    expect([margin.left, margin.width, stage.left, stage.width, ledger.left, ledger.width].map(Math.round)).toEqual([24, 200, 248, 664, 936, 320]);
  });
});

describe('wide page at 1280 × 800, every stage', () => {
  it.each(stages.map(({ id }) => id))('%s stands whole above the listening strip, and nothing scrolls but the margin', async (id) => {
    await mountWithFigures(1280, 800);
    page.bench.dispatch({ kind: 'insert-stage', stage: id, atIndex: 0 });
    page.bench.dispatch({ kind: 'open-stage', stageKey: page.bench.state.setting.path.stages[0]!.key });
    await page.settle();
    const sheet = deep('stage-sheet');
    expect(sheet.shadowRoot!.querySelector('h2')!.textContent).toMatch(/^1 /);
    const strip = deep('section', deep('listening-strip').shadowRoot!).getBoundingClientRect();
    // An equaliser has a curve in place of a drawing, and more values than a page: its curve stands whole, its list goes on under it.
    const curve = stageById(id).drawing === null ? allDeep('plot-area', sheet.shadowRoot!)[0]?.shadowRoot!.querySelector('svg') ?? null : null;
    if (curve) expect(curve.getBoundingClientRect().bottom).toBeLessThanOrEqual(strip.top);
    else {
      expect(sheet.getBoundingClientRect().bottom).toBeLessThanOrEqual(strip.top);
      expect(document.documentElement.scrollHeight).toBeLessThanOrEqual(800);
    }
    // A long margin scrolls within itself, beside the stage.
    const column = deep('.column', deep('margin-column').shadowRoot!);
    expect(column.scrollHeight).toBeGreaterThan(column.clientHeight);
    expect(getComputedStyle(column).overflowY).toBe('auto');
    if (!curve) expect(column.getBoundingClientRect().bottom).toBeLessThanOrEqual(strip.top + 0.5);
  });
});

describe.each(sizes)('at %i × %i, a tone asked for', (width, height) => {
  it('shows the question, both answers and the rest of the strip, none over another', async () => {
    await mountWithFigures(width, height);
    page.bench.dispatch({ kind: 'ask-tone', frequencyHz: 200, levelDbu: 4 });
    await page.settle();
    const strip = deep('listening-strip').shadowRoot!;
    const shown = [deep('.play button', strip), deep('.box'), deep('#question'), ...allDeep('.answers button', deep('tone-consent').shadowRoot!), deep('#limiter').closest('.group, .chooser')!, deep('#trial')];
    const boxes = shown.map((element) => ({ name: element.textContent!.trim().slice(0, 20), box: element.getBoundingClientRect() }));
    expect(boxes).toHaveLength(7);
    for (const [index, { name, box: a }] of boxes.entries()) {
      expect(a.width > 20 && a.left >= 0 && a.right <= width + 0.5 && a.bottom <= height + 0.5, `${name} ${JSON.stringify(a)}`).toBe(true);
      for (const { name: other, box: b } of boxes.slice(index + 1)) {
        expect(a.right <= b.left + 0.5 || b.right <= a.left + 0.5 || a.bottom <= b.top + 0.5 || b.bottom <= a.top + 0.5, `${name} and ${other}`).toBe(true);
      }
    }
    expect(deep('.play button', strip).getBoundingClientRect().width).toBeGreaterThanOrEqual(60);
  });
});

describe('the listening strip', () => {
  const why = 'the path out of circuit is silent over this region: choose a louder one';
  it.each([
    { kind: 'off' }, { kind: 'stale' }, { kind: 'measuring' }, { kind: 'cannot-match', why },
    { kind: 'matched', inGainDb: 0, outGainDb: -19.18, residualDb: 0.02, waitsForSwitch: true },
  ] as const)('stays 120 px high with the match $kind', async (match) => {
    for (const width of [1280, 1024]) {
      await mountWithFigures(width, 800);
      page.bench.dispatch({ kind: 'matched', revision: page.bench.state.live.revision, match });
      await page.settle();
      expect(deep('section', deep('listening-strip').shadowRoot!).getBoundingClientRect().height, `${width}`).toBeLessThanOrEqual(120.5);
      expect(deep('match-reading').shadowRoot!.querySelector('.heading')!.textContent).toContain(match.kind.split('-')[0]);
      if (width === 1280) await page.remove();
    }
  });
});

describe.each(sizes)('at %i × %i', (width, height) => {
  it('keeps play, in/out, what is on trial, match, level, limiter word and bars in sight, and nothing scrolls sideways', async () => {
    await mountWithFigures(width, height);
    expect(sideways()).toBe(0);
    const strip = deep('listening-strip').shadowRoot!;
    // The low page names H2, H3 and the worst; the others show every bar. The ledger writes its figures five times a second.
    const figureOf = (words: string) => vi.waitFor(() => {
      const figure = allDeep('*', deep('harmonic-ledger').shadowRoot!).find((element) => element.children.length === 0 && element.textContent?.includes(words));
      if (!figure) throw new Error(`no ${words} in the ledger yet`);
      return figure;
    });
    const needed: Record<string, Element | undefined> = {
      play: deep('.play button', strip), inOut: deep('.box'), trial: deep('#trial'), limiter: deep('#limiter').closest('.group, .chooser')!,
      match: allDeep('*', deep('match-reading').shadowRoot!).find(({ textContent }) => textContent?.includes('matched')),
      level: allDeep('*', deep('monitor-level').shadowRoot!).find(({ textContent }) => textContent?.includes('−20 dB')),
      firstBar: await figureOf('−60'), lastBar: await figureOf(height < 560 ? '−90' : '−120'),
    };
    for (const scroll of [0, 1e6]) {
      scrollTo(0, scroll);
      await frames(2);
      for (const [name, element] of Object.entries(needed)) {
        expect(element, name).toBeDefined();
        const { left, right, top, bottom } = element!.getBoundingClientRect();
        expect(right > left && bottom > top, `${name} has a size`).toBe(true);
        expect(left >= 0 && right <= width + 0.5 && top >= 0 && bottom <= height + 0.5, `${name} ${left} ${right} ${top} ${bottom}`).toBe(true);
        const onTop = element!.getRootNode() as ShadowRoot;
        const hit = onTop.elementFromPoint((left + right) / 2, (top + bottom) / 2);
        expect(hit !== null && (element!.contains(hit) || hit.contains(element!)), `${name} is covered by ${hit?.localName}, scrolled to ${scroll}`).toBe(true);
      }
    }
  });

  it('puts the focus through title, path, stage, ledger, margin, listening, never under the docks, and out again', async () => {
    await mountWithFigures(width, height);
    (document.activeElement as HTMLElement | null)?.blur();
    scrollTo(0, 0);
    const order: string[] = [];
    const seen = new Set<Element>();
    let left = false;
    for (let stop = 0; stop < 120; stop += 1) {
      await userEvent.tab();
      const element = focused();
      if (!element || element === document.body || seen.has(element)) {
        left = true;
        break;
      }
      seen.add(element);
      const region = regionOf(focusPath());
      if (region !== order.at(-1)) order.push(region);
      await frames(1);
      const { top, bottom, height: tall } = element.getBoundingClientRect();
      const inDock = focusPath().includes('listening-strip') || focusPath().includes('state-line') || (focusPath().includes('harmonic-ledger') && (width < 1024 || height < 640));
      if (inDock || tall === 0) continue;
      const docks = parseFloat(document.documentElement.style.getPropertyValue('--docks'));
      const name = `${element.localName}.${element.className} ${element.getAttribute('aria-label') ?? element.textContent?.trim().slice(0, 30)}: ${top}–${bottom}, docks from ${height - docks}`;
      // What is taller than the space between is shown from its top.
      expect(top >= -0.5 && (bottom <= height - docks + 0.5 || tall > height - docks), name).toBe(true);
    }
    expect(left, 'the focus leaves the page').toBe(true);
    const expected = ['title-line', 'path-strip', 'stage-sheet', 'harmonic-ledger', 'margin-column', 'listening-strip', 'state-line'];
    expect(order).toEqual(expected.filter((region) => order.includes(region)));
    expect(order).toEqual(expect.arrayContaining(expected.filter((region) => region !== 'state-line')));
  });

  it('offers targets of at least 24 px', async () => {
    await mountWithFigures(width, height);
    const own = ['title-line', 'listening-strip', 'state-line', 'margin-column'].flatMap((name) => allDeep('button, select, input:not([hidden]), textarea, [role="application"]', deep(name).shadowRoot!));
    const small = own.filter((element) => element.getClientRects().length > 0).filter((element) => {
      const { width: wide, height: tall } = element.getBoundingClientRect();
      // The low page has one row of 48 for two lines; its overview is 18 high and has keys for all it does.
      return wide < 23.5 || tall < (element.id === 'surface' && height < 560 ? 18 : 23.5);
    });
    expect(small.map((element) => `${element.localName}#${element.id} ${element.textContent?.trim().slice(0, 20)} ${JSON.stringify(element.getBoundingClientRect())}`)).toEqual([]);
  });

  it('has no fault that axe finds', async () => {
    await mountWithFigures(width, height);
    const { violations } = await axe.run(page.root);
    expect(violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ target, failureSummary }) => `${target.join(' ')} ${failureSummary}`).join('; ').slice(0, 400)}`)).toEqual([]);
  });
});

describe('text', () => {
  it('may be twice as large, or spaced as WCAG 1.4.12 asks, without sideways scroll at 640 and 320', async () => {
    for (const [width, height] of [[1280, 800], [1280, 1600], [640, 800], [320, 640]] as const) {
      await mountWithFigures(width, height);
      document.documentElement.style.fontSize = width === 320 ? '' : '200%';
      document.body.style.cssText = 'letter-spacing: 0.12em; word-spacing: 0.16em; line-height: 1.5';
      await page.settle();
      expect(sideways(), `${width}`).toBe(0);
      // Text twice as large leaves half the width: 1280 is laid out as 640 is.
      if (height === 1600) expect(page.root.shape).toBe('docked');
      document.body.style.cssText = '';
      document.documentElement.style.fontSize = '';
      page.remove();
    }
    await mountWithFigures(1280, 800);
  });
});

describe('table of contents', () => {
  it('is told by title, headings and landmarks', async () => {
    await mountWithFigures(1280, 800);
    const headings = allDeep('h1, h2, h3').map((element) => `${element.localName} ${element.textContent?.replace(/\s+/g, ' ').trim()}`);
    expect(headings[0]).toBe('h1 Stagebench');
    for (const heading of ['Harmonics', 'Readings', 'Solver', 'First look', 'Notes']) expect(headings.join('|')).toContain(`h2 ${heading}`);
    expect(headings.some((heading) => /^h2 2 Push-pull/.test(heading))).toBe(true);
    const landmarks = allDeep('header, nav, main, section[aria-label], aside, footer').map((element) => element.getAttribute('aria-label') ?? element.localName);
    for (const landmark of ['header', 'Path', 'main', 'Harmonics', 'Readings and notes', 'Listening', 'State of the bench']) expect(landmarks).toContain(landmark);
    expect(document.documentElement.lang).toBe('en');
  });
});

describe('margin', () => {
  it('shows cautions in full beside valve stages, foldable to the heading and never gone', async () => {
    const state = openingState(loops);
    page = await mountPage(state);
    page.bench.dispatch({ kind: 'insert-stage', stage: 'single-ended-valve', atIndex: 0 });
    await page.settle();
    const margin = deep('margin-column').shadowRoot!;
    const heading = [...margin.querySelectorAll<HTMLElement>('.caution button')].find(({ textContent }) => textContent?.includes('1 '))!;
    expect(margin.querySelector('.caution')!.textContent).toContain('can kill and stay on capacitors after switch-off');
    await userEvent.click(heading);
    await page.settle();
    expect(margin.querySelector('.caution')!.textContent).not.toContain('can kill');
    expect(margin.querySelector('.caution')!.textContent).toContain('Caution');
  });

  it.each(stages.map(({ id }) => id))('writes every reading of %s within the margin, its figure whole, its explanation folded away', async (id) => {
    const values = defaultValues(stageById(id));
    const program = stageById(id).program(values, { rateHz: 384_000, source: null });
    await mountWithFigures(1280, 800);
    page.bench.dispatch({ kind: 'insert-stage', stage: id, atIndex: 0 });
    const { key } = page.bench.state.setting.path.stages[0]!;
    page.bench.dispatch({ kind: 'open-stage', stageKey: key });
    page.bench.dispatch({ kind: 'reported', revision: page.bench.state.live.revision, reports: { [key]: stageById(id).report(values, program) }, jointLevelsDbu: {} });
    await page.settle();
    const margin = deep('margin-column').shadowRoot!;
    const lines = [...margin.querySelectorAll<HTMLElement>('.line')];
    expect(lines.length).toBeGreaterThan(5);
    const column = margin.querySelector('dl')!.getBoundingClientRect();
    for (const line of lines) {
      // A label too long for its figure has a line of its own; words may take more.
      if (!line.querySelector('.words')) expect(line.getBoundingClientRect().height, line.textContent!).toBeLessThan(38);
      for (const part of line.children) {
        const range = document.createRange();
        range.selectNodeContents(part);
        const { left, right } = range.getBoundingClientRect();
        expect(left >= column.left - 0.5 && right <= column.right + 0.5, `${part.textContent}: ${left}–${right}`).toBe(true);
      }
    }
    const meanings = margin.querySelector('details')!;
    expect(meanings.open).toBe(false);
    await userEvent.click(meanings.querySelector('summary')!);
    expect(meanings.querySelectorAll('li').length).toBeGreaterThan(1);
  });

  it('folds into a disclosure under 1120 px', async () => {
    await mountWithFigures(1100, 800);
    const disclosure = deep('.disclosure');
    expect(disclosure.getAttribute('aria-expanded')).toBe('false');
    await userEvent.click(disclosure);
    await page.settle();
    expect(disclosure.getAttribute('aria-expanded')).toBe('true');
    expect(allDeep('h2').map(({ textContent }) => textContent)).toContain('Readings');
  });

  it('takes a dated note', async () => {
    await mountWithFigures(1280, 800);
    const notes = deep('margin-column').shadowRoot!.querySelector('notes-block')!.shadowRoot!;
    const form = notes.querySelector('verdict-form')!.shadowRoot!;
    await userEvent.fill(form.querySelector('textarea')!, 'the decay is softer <b>now</b>');
    await userEvent.click(form.querySelector('button[type="submit"]')!);
    await page.settle();
    expect(notes.querySelector('time')!.dateTime).toBe('2026-11-25');
    expect(notes.querySelector('.text')!.textContent).toBe('the decay is softer <b>now</b>');
  });

  it('strikes the first look through as it is done', async () => {
    await mountWithFigures(1280, 800);
    page.bench.dispatch({ kind: 'play' });
    await page.settle();
    const struck = [...deep('margin-column').shadowRoot!.querySelectorAll('s')].map(({ textContent }) => textContent);
    expect(struck).toEqual(['Press Space or Play; it begins quietly.']);
  });
});

describe('look and motion', () => {
  it('follows the chosen look', async () => {
    await mountWithFigures(1280, 800);
    const paper = () => getComputedStyle(document.documentElement).backgroundColor;
    page.bench.dispatch({ kind: 'look', look: 'light' });
    await page.settle();
    const light = paper();
    page.bench.dispatch({ kind: 'look', look: 'dark' });
    await page.settle();
    expect(paper()).not.toBe(light);
    page.bench.dispatch({ kind: 'look', look: 'system' });
    await page.settle();
    expect(document.documentElement.dataset['look']).toBeUndefined();
  });

  it.each([[false, 8], [true, 4]])('moves the playhead calmly where motion is reduced (%s)', async (reduced, fewest) => {
    await mountWithFigures(1280, 800);
    const original = window.matchMedia.bind(window);
    vi.spyOn(window, 'matchMedia').mockImplementation((query) => (query.includes('reduced-motion') ? { ...original(query), matches: reduced } : original(query)));
    const playhead = deep('#playhead');
    const places = new Set<string>();
    const begun = performance.now();
    while (performance.now() - begun < 1000) {
      page.readings.positionSeconds = (performance.now() - begun) / 1000;
      await frames(1);
      places.add(playhead.style.left);
    }
    // Thirty a second at most; four a second (and the two ends of the second) where motion is reduced.
    expect(places.size).toBeGreaterThanOrEqual(fewest);
    expect(places.size).toBeLessThanOrEqual(reduced ? 6 : 33);
  });
});
