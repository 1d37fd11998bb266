/** The plate of a figure: where it stands at every size, what it offers, and that it is reached and left by keys. The engine only records; a test writes the figure. */
import axe from 'axe-core';
import { userEvent } from 'vitest/browser';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { figureViews } from '../../../dsp/measure/figures/index.ts';
import type { Figure, FigureTrace } from '../../../dsp/measure/figures/index.ts';
import type { ShownFigure } from '../../../ui/page/figure-feed.ts';
import { figureCsv } from '../../../ui/plot/index.ts';
import { openingState } from '../../../ui/page/opening.ts';
import { allDeep, deep, focused, focusPath, frames, harmonicsAt, loops, mountPage, press, regionOf } from './support.ts';
import type { MountedPage } from './support.ts';

let page: MountedPage;
afterEach(async () => {
  await page.remove();
  document.documentElement.style.fontSize = '';
  vi.restoreAllMocks();
});

const view = figureViews[0]!;
const axis = (label: string, unit: string, from: number, to: number) => ({ label, unit, scale: 'linear', written: 'plain', from, to } as const);
const levels = Float64Array.from({ length: 61 }, (_, index) => -60 + 1.5 * index);
const trace = (order: number): FigureTrace => ({ id: `H${order}`, label: `H${order}`, axis: 'left', role: 'main', order, drawn: 'line', x: levels, y: levels.map((level) => Math.min(0, -100 + order * level / 2)) });
const figureOf = (change: Partial<Figure> = {}): Figure => ({
  title: 'Harmonics against level, whole path, 1 kHz', caption: 'At +4 dBu H2 stands at −62.0 dB and H3 at −78.1 dB; the path clips at +23.5 dBu.',
  panels: [{ title: '', x: axis('input level', 'dBu', -60, 30), left: axis('level', 'dB re fundamental', -140, 0), traces: [2, 3, 5].map(trace), marks: [{ x: 23.5, words: 'clips at +23.5 dBu' }] }],
  tables: [{
    columns: [{ label: 'level', unit: 'dBu', written: 'plain', digits: 1 }, { label: 'H2', unit: 'dB', written: 'plain', digits: 1 }, { label: 'verdict', unit: '', written: 'plain', digits: 0 }],
    rows: Array.from(levels, (level, index) => ({ cells: [level, index === 3 ? null : -100 + level, index === 0 ? 'quiet' : ''], ...(index === 1 ? { trial: { kind: 'stage', key: 's1' } as const } : {}) })),
  }],
  remarks: ['Drive is a cosine.'], ...change,
});

async function mountWithPlate(width: number, height: number, shown: Partial<ShownFigure> = {}): Promise<void> {
  const opening = openingState(loops);
  page = await mountPage({ ...opening, session: { ...opening.session, figures: { ...opening.session.figures, open: view.id } } }, width, height);
  page.bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -60) });
  page.figures.show({ view: view.id, figure: figureOf(), done: 8, parts: 8, updating: false, refusal: null, ...shown });
  await page.settle();
  await frames(2);
}

const plate = () => deep('figure-plate').shadowRoot!;
const box = (name: string) => deep(name).getBoundingClientRect();
const sideways = () => document.documentElement.scrollWidth - document.documentElement.clientWidth;
const button = (words: string, from: ParentNode = plate()) => {
  const found = allDeep('button', from).find((each) => (each.getAttribute('aria-label') ?? each.textContent!.trim()).startsWith(words));
  if (!found) throw new Error(`no button "${words}"`);
  return found;
};

describe('where the plate stands', () => {
  it('beside the stage at 1280 × 800: 336 px of stage, at least 520 of plate; ledger and listening strip do not move', async () => {
    page = await mountPage(undefined, 1280, 800);
    page.bench.dispatch({ kind: 'measured', harmonics: harmonicsAt(1, -60) });
    await page.settle();
    const before = [box('.ledger'), box('.dock')];
    page.bench.dispatch({ kind: 'open-figure', view: view.id });
    page.figures.show({ view: view.id, figure: figureOf(), done: 8, parts: 8, updating: false, refusal: null });
    await page.settle();
    expect(page.root.plate).toBe('beside');
    const stage = box('main');
    const beside = plate().querySelector('section')!.getBoundingClientRect();
    expect(Math.round(stage.width)).toBe(336);
    expect(beside.width).toBeGreaterThanOrEqual(520);
    expect(beside.left).toBeGreaterThanOrEqual(stage.right + 16);
    expect(beside.right).toBeLessThanOrEqual(box('.ledger').left - 16);
    expect([box('.ledger'), box('.dock')]).toEqual(before);
    // Plot and sentence stand above the strip, and the values that are dialled beside them.
    expect(deep('.caption', plate()).getBoundingClientRect().bottom).toBeLessThanOrEqual(box('.dock').top);
    expect(deep('value-editor[data-parameter="emitterOhms"]', deep('stage-sheet').shadowRoot!).getBoundingClientRect().bottom).toBeLessThanOrEqual(box('.dock').top);
    expect(sideways()).toBe(0);
    page.bench.dispatch({ kind: 'open-figure', view: null });
    await page.settle();
    expect(page.root).toMatchObject({ plate: null, shape: 'wide' });
    expect([box('.ledger'), box('.dock')]).toEqual(before);
  });

  it.each([
    [1440, 900, 'folded', 'beside'], [1255, 800, 'docked', 'beside'], [1100, 800, 'docked', 'beside'], [1280, 600, 'docked', 'beside'], [1280, 500, 'docked', 'beside'], [912, 800, 'docked', 'beside'],
    [911, 800, 'docked', 'alone'], [640, 400, 'docked', 'alone'], [390, 844, 'narrow', 'alone'], [320, 640, 'narrow', 'alone'],
  ] as const)('%i × %i: %s, %s', async (width, height, shape, where) => {
    await mountWithPlate(width, height);
    expect(page.root).toMatchObject({ shape, plate: where });
    expect(sideways()).toBe(0);
    const beside = plate().querySelector('section')!.getBoundingClientRect();
    if (where === 'beside') {
      expect(Math.round(box('stage-sheet').width)).toBe(336);
      expect(beside.width).toBeGreaterThanOrEqual(504);
    } else {
      expect(deep('stage-sheet').checkVisibility(), 'the stage gives way').toBe(false);
      expect(beside.width).toBeGreaterThanOrEqual(width - 48);
      await userEvent.click(button('Back to stage'));
      await page.settle();
      expect(deep('stage-sheet').checkVisibility()).toBe(true);
      expect(allDeep('figure-plate')).toEqual([]);
    }
  });

  it('is measured in the reader’s own text size: twice as large, 1280 × 800 has it alone, without sideways scroll', async () => {
    await mountWithPlate(1280, 800);
    document.documentElement.style.fontSize = '200%';
    document.body.style.cssText = 'letter-spacing: 0.12em; word-spacing: 0.16em; line-height: 1.5';
    dispatchEvent(new Event('resize'));
    await page.settle();
    expect(page.root.plate).toBe('alone');
    expect(sideways()).toBe(0);
    document.body.style.cssText = '';
  });
});

describe.each([[1280, 800], [1100, 800], [640, 400], [390, 844], [320, 640]] as const)('at %i × %i', (width, height) => {
  it('puts the focus through stage, plate, ledger, never under the docks, and out again', async () => {
    await mountWithPlate(width, height);
    const beside = page.root.plate === 'beside';
    // Tab goes on from where this stood: before the page.
    const start = document.createElement('button');
    document.body.prepend(start);
    start.focus();
    start.remove();
    scrollTo(0, 0);
    const order: string[] = [];
    const seen = new Set<Element>();
    for (let stop = 0; stop < 160; stop += 1) {
      await userEvent.tab();
      const element = focused();
      if (!element || element === document.body || seen.has(element)) break;
      seen.add(element);
      const region = regionOf(focusPath());
      if (region !== order.at(-1)) order.push(region);
      await frames(1);
      const { top, bottom, height: tall } = element.getBoundingClientRect();
      if (region === 'listening-strip' || region === 'state-line' || (region === 'harmonic-ledger' && page.root.shape !== 'folded') || tall === 0) continue;
      const docks = parseFloat(document.documentElement.style.getPropertyValue('--docks'));
      expect(top >= -0.5 && (bottom <= height - docks + 0.5 || tall > height - docks), `${region} ${element.getAttribute('aria-label') ?? element.textContent?.trim().slice(0, 30)}: ${top}–${bottom}, docks from ${height - docks}`).toBe(true);
    }
    const expected = ['title-line', 'path-strip', ...(beside ? ['stage-sheet'] : []), 'figure-plate', 'harmonic-ledger', 'margin-column', 'listening-strip'];
    expect(order.filter((region) => region !== 'state-line' && region !== '')).toEqual(expected);
  });

  it('has no fault that axe finds, its table open and one figure kept, and targets of at least 24 px', async () => {
    await mountWithPlate(width, height);
    page.bench.dispatch({ kind: 'keep-figure', view: view.id, figure: figureOf(), keptAt: '2026-11-26 21:05' });
    await page.settle();
    button('Table').click();
    await page.settle();
    expect(sideways()).toBe(0);
    const { violations } = await axe.run(page.root);
    expect(violations.map(({ id, nodes }) => `${id}: ${nodes.map(({ target, failureSummary }) => `${target.join(' ')} ${failureSummary}`).join('; ').slice(0, 400)}`)).toEqual([]);
    const small = allDeep('button, select, input, [role="spinbutton"]', plate()).filter((element) => element.getClientRects().length > 0).filter((element) => {
      const { width: wide, height: tall } = element.getBoundingClientRect();
      return wide < 23.5 || tall < 23.5;
    });
    expect(small.map((element) => element.outerHTML.slice(0, 80))).toEqual([]);
  });
});

describe('what the plate says', () => {
  it('its number and title, what it is measured of, the sentence, remarks, and a table that holds what the CSV holds', async () => {
    await mountWithPlate(1280, 800);
    expect(deep('h2', plate()).textContent!.replace(/\s+/g, ' ')).toBe(`Fig. 1 ${view.title}`);
    expect(deep('section', plate()).getAttribute('aria-label')).toBe(`Fig. 1 ${view.title}`);
    expect(deep('.caption', plate()).textContent).toBe(figureOf().caption);
    expect(deep('.remark', plate()).textContent).toBe('Drive is a cosine.');
    expect(allDeep('figure-tables')).toEqual([]);
    button('Table').click();
    await page.settle();
    // Behind the first column stands what can be put on trial.
    const rows = allDeep('tr', deep('figure-tables').shadowRoot!).map((row) => [...row.children].map((cell) => cell.textContent!.trim()).toSpliced(1, 1));
    expect(rows).toHaveLength(62);
    expect(rows[0]!.slice(0, 3)).toEqual(['level, dBu', 'H2, dB', 'verdict']);
    expect(rows[1]!.slice(0, 3)).toEqual(['−60.0', '−160.0', 'quiet']);
    expect(rows[4]!.slice(0, 3)).toEqual(['−55.5', '', '']);
    const csv = figureCsv(figureOf()).split('\r\n').map((line) => line.split(','));
    const numbers = rows.slice(1).map(([level, h2]) => [level, h2].map((text) => text!.replace('−', '-').replace('+', '')));
    // Both name the unit in the heading; the page writes the decimals its column asks for.
    expect(numbers).toEqual(csv.slice(1).map(([level, h2]) => [Number(level).toFixed(1), h2 === '' ? '' : Number(h2).toFixed(1)]));
  });

  it('that it is updating, and how far it has come; no word when all is there; a refusal in its place', async () => {
    await mountWithPlate(1280, 800, { updating: true, done: 3, parts: 8 });
    const progress = () => deep('.progress', plate()).textContent;
    expect(progress()).toBe('updating, 3 of 8 parts');
    expect(button('Keep').getAttribute('aria-disabled')).toBe('true');
    button('Keep').click();
    expect(page.bench.state.session.kept).toEqual([]);
    page.figures.show({ view: view.id, figure: figureOf(), done: 8, parts: 8, updating: false, refusal: null });
    await page.settle();
    expect(progress()).toBe('');
    page.figures.show({ view: view.id, figure: null, done: 0, parts: 0, updating: false, refusal: 'The path oscillates.' });
    await page.settle();
    expect(deep('.error', plate()).textContent).toBe('The path oscillates.');
    expect(allDeep('plot-area', plate())).toEqual([]);
  });

  it('to those who do not see it arrive: once, when what they asked for is there, never while values change', async () => {
    await mountWithPlate(1280, 800, { updating: true, figure: null });
    const said = () => deep('[role="status"]', plate()).textContent;
    expect(said()).toBe('');
    const show = async (caption: string, updating = false) => {
      page.figures.show({ view: view.id, figure: figureOf({ caption }), done: 8, parts: 8, updating, refusal: null });
      await page.settle();
    };
    await show('First.', true);
    expect(said()).toBe('');
    await show('First.');
    expect(said()).toBe('First.');
    page.bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: 22, phase: 'end' });
    await show('Second.');
    expect(said(), 'a value of the stage speaks for itself').toBe('First.');
    page.bench.dispatch({ kind: 'figure-scope', scope: 'stage' });
    await show('Third.');
    expect(said(), 'not twice within a second').toBe('First.');
    await new Promise((resolve) => setTimeout(resolve, 1000));
    await show('Fourth.');
    expect(said()).toBe('Fourth.');
  });
});

describe('what the plate does', () => {
  it('puts a row’s subject on trial, and plays a span of the loop', async () => {
    await mountWithPlate(1280, 800);
    button('Table').click();
    await page.settle();
    button('Put on trial').click();
    expect(page.bench.state.session.onTrial).toEqual({ kind: 'stage', key: 's1' });
    deep('plot-area', plate()).dispatchEvent(new CustomEvent('span-selected', { detail: { panel: 0, from: 3.5, to: 2 }, bubbles: true, composed: true }));
    expect(page.bench.state.session.region).toEqual({ startSeconds: 2, endSeconds: 3.5 });
  });

  it('keeps a figure, names it by what differs, and gives its setting back', async () => {
    await mountWithPlate(1280, 800);
    button('Keep').click();
    await page.settle();
    page.bench.dispatch({ kind: 'set-value', stageKey: 's2', parameter: 'emitterOhms', value: 22, phase: 'end' });
    await page.settle();
    const kept = deep('kept-figures', plate()).shadowRoot!;
    expect(deep<HTMLInputElement>('input', kept).value).toBe('RE 10 Ω');
    expect(deep('plot-area', plate())).toMatchObject({ kept: [{ label: 'RE 10 Ω' }] });
    await userEvent.fill(deep('input', kept), 'softer');
    await userEvent.keyboard('{Enter}');
    await page.settle();
    expect(page.bench.state.session.kept[0]!.name).toBe('softer');
    button('Restore', kept).click();
    await page.settle();
    expect(page.bench.state.setting.path.stages[1]!.values['emitterOhms']).toBe(10);
    expect(button('Restore', kept)).toMatchObject({ disabled: true });
    page.bench.dispatch({ kind: 'undo' });
    expect(page.bench.state.setting.path.stages[1]!.values['emitterOhms']).toBe(22);
    button('Drop', kept).click();
    await page.settle();
    expect(page.bench.state.session.kept).toEqual([]);
  });

  it('saves SVG, PNG and CSV under the setting’s name, with what is kept in the picture', async () => {
    const saved: { readonly name: string; readonly blob: Promise<Blob> }[] = [];
    const addresses = new Map<string, Blob>();
    vi.spyOn(URL, 'createObjectURL').mockImplementation((blob) => {
      const address = `blob:${addresses.size}`;
      addresses.set(address, blob as Blob);
      return address;
    });
    const real = Object.getOwnPropertyDescriptor(HTMLImageElement.prototype, 'src')!;
    vi.spyOn(HTMLAnchorElement.prototype, 'click').mockImplementation(function click(this: HTMLAnchorElement) {
      saved.push({ name: this.download, blob: Promise.resolve(addresses.get(this.href)!) });
    });
    vi.spyOn(HTMLImageElement.prototype, 'src', 'set').mockImplementation(function src(this: HTMLImageElement, address: string) {
      const reader = new FileReader();
      reader.readAsDataURL(addresses.get(address)!);
      const decode = this.decode.bind(this);
      this.decode = async () => {
        await new Promise((resolve) => { reader.onload = resolve; });
        real.set!.call(this, reader.result);
        await decode();
      };
    });
    await mountWithPlate(1280, 800);
    page.bench.dispatch({ kind: 'keep-figure', view: view.id, figure: figureOf(), keptAt: '2026-11-26 21:05' });
    page.bench.dispatch({ kind: 'name-kept', id: '1', name: 'softer' });
    await page.settle();
    for (const kind of ['SVG', 'CSV', 'PNG']) button(`Save as ${kind}`).click();
    await vi.waitFor(() => expect(saved).toHaveLength(3), { timeout: 20_000 });
    expect(saved.map(({ name }) => name)).toEqual(['svg', 'csv', 'png'].map((ending) => `village-hall-first-look-${view.id}.${ending}`));
    const [svg, csv, png] = await Promise.all(saved.map(async ({ blob }) => (await blob)));
    const picture = new DOMParser().parseFromString(await svg!.text(), 'image/svg+xml');
    expect(picture.querySelector('parsererror')).toBeNull();
    expect(picture.documentElement.textContent).toContain('softer');
    expect(await csv!.text()).toBe(`${figureCsv(figureOf())}\r\n`);
    const bitmap = await createImageBitmap(png!);
    expect(bitmap.width).toBeGreaterThan(1000);
  });
});

describe('keys', () => {
  it('F opens the last figure and goes to it, from a figure to the next; closing goes back to where it is listed', async () => {
    page = await mountPage(undefined, 1280, 800);
    press('f');
    await page.settle();
    expect(page.bench.state.session.figures.open).toBe(view.id);
    await vi.waitFor(() => expect(focused()?.id).toBe('heading'));
    press('f');
    await page.settle();
    expect(page.bench.state.session.figures.open).toBe(figureViews[1]!.id);
    expect(focusPath()).toContain('figure-plate');
    deep('harmonic-ledger').shadowRoot!.querySelector('button')!.focus();
    press('f');
    await page.settle();
    expect(page.bench.state.session.figures.open, 'from elsewhere: to it').toBe(figureViews[1]!.id);
    expect(focusPath()).toContain('figure-plate');
    // Escape silences, and leaves the figure where it is.
    page.bench.dispatch({ kind: 'play' });
    press('Escape');
    expect(page.bench.state.live.playing).toBe(false);
    expect(page.bench.state.session.figures.open).not.toBeNull();
    button('Close').focus();
    await userEvent.keyboard('{Enter}');
    await page.settle();
    expect(page.bench.state.session.figures.open).toBeNull();
    await vi.waitFor(() => expect(focused()?.getAttribute('data-view')).toBe(figureViews[1]!.id));
    page.bench.dispatch({ kind: 'keys', keys: { ...page.bench.state.session.keys, singleLetters: false } });
    press('f');
    expect(page.bench.state.session.figures.open).toBeNull();
  });

  it('opens a figure from the margin’s list, and G leads from a page of its own back to a value', async () => {
    page = await mountPage(undefined, 1280, 800);
    const listed = allDeep('[data-view]', deep('margin-column').shadowRoot!);
    expect(listed.map((each) => each.textContent!.replace(/\s+/g, ' ').trim())).toEqual(figureViews.map(({ title }, index) => `Fig. ${index + 1} ${title}`));
    listed[2]!.focus();
    await userEvent.keyboard('{Enter}');
    await page.settle();
    expect(page.bench.state.session.figures.open).toBe(figureViews[2]!.id);
    await page.remove();
    await mountWithPlate(390, 844);
    press('g');
    await page.settle();
    await userEvent.keyboard('RE{Enter}');
    await page.settle();
    await vi.waitFor(() => expect(focused()?.getAttribute('aria-label')).toBe('RE, emitter resistors'));
    expect(page.bench.state.session.figures.open).toBeNull();
  });
});
