import { describe, expect, it } from 'vitest';
import { userEvent } from 'vitest/browser';
import type { HarmonicLedger } from '../../../ui/page/elements/harmonic-ledger.ts';
import '../../../ui/page/elements/harmonic-ledger.ts';
import type { ValueEditor } from '../../../ui/page/elements/value-editor.ts';
import { benchState, readingsOf } from './bench-state.ts';
import type { Wanted } from './bench-state.ts';
import { everyElement, find, mount, settle } from './stage.ts';
import type { Mounted } from './stage.ts';

const decibels = [-62.1, -78.4, -88, -96.3, -104.9, -111.2, -119, -141, -Infinity];

async function ledger(wanted: Wanted = {}, more: Partial<HarmonicLedger> = {}): Promise<Mounted<HarmonicLedger>> {
  const live = { harmonics: readingsOf(decibels), revision: 0, ...wanted.live };
  return mount<HarmonicLedger>('harmonic-ledger', { state: benchState({ ...wanted, live }), shape: 'wide', low: false, form: 'table', ...more }, { widthPx: 320 });
}

const root = ({ element }: Mounted<HarmonicLedger>) => element.shadowRoot!;
const rows = (bench: Mounted<HarmonicLedger>) => [...root(bench).querySelectorAll('tbody tr')];
const cells = (bench: Mounted<HarmonicLedger>) => rows(bench).map((row) => [...row.children].map((cell) => cell.textContent!.trim()));
const button = (bench: Mounted<HarmonicLedger>, words: string) => [...root(bench).querySelectorAll('button')].find((each) => each.textContent!.trim() === words)!;

describe('the table', () => {
  it('is a table of orders 2 to 10 with decibels, percent and the word', async () => {
    expect(cells(await ledger()).map((row) => row.filter((text, index) => index !== 1 || text !== ''))).toEqual([
      ['H2', '−62.1', '0.079', ''], ['H3', '−78.4', '0.012', ''], ['H4', '−88.0', '0.0040', ''], ['H5', '−96.3', '0.0015', 'harsh'], ['H6', '−104.9', '0.00057', ''],
      ['H7', '−111.2', '0.00028', 'harsh'], ['H8', '−119.0', '0.00011', 'harsh'], ['H9', '−141.0', '0.0000089', 'harsh'], ['H10', 'under −160', '–', 'harsh'],
    ]);
  });

  it('fills 2 and 3 solid, 4 and 6 outline, the others hatched, and draws no bar under −140', async () => {
    const bench = await ledger();
    expect(rows(bench).map((row) => row.querySelector('rect')?.classList.value ?? 'none')).toEqual([
      'solid', 'solid', 'outline', 'hatched', 'outline', 'hatched', 'hatched', 'none', 'none',
    ]);
    expect(getComputedStyle(rows(bench)[3]!.querySelector('rect')!).fill).toContain('#hatch');
    expect(root(bench).querySelector('pattern')!.getAttribute('patternTransform')).toBe('rotate(45)');
  });

  it('starts bars at −140 dB and ends them at 0 dB: 1 % of the length for 1.4 dB', async () => {
    const bench = await ledger();
    const bar = rows(bench)[0]!.querySelector('.bar')!.getBoundingClientRect().width;
    const rect = rows(bench)[0]!.querySelector('rect')!.getBoundingClientRect().width;
    expect(Math.abs(rect / bar - (140 - 62.1) / 140) <= 0.02, `${rect} of ${bar}`).toBe(true);
    for (const shape of root(bench).querySelectorAll('rect')) expect(getComputedStyle(shape).transitionDuration).toBe('0s');
  });

  it('says why the hatched are hatched, once', async () => {
    const bench = await ledger();
    expect(root(bench).textContent!.split('commonly judged harsh (common practice, no source)')).toHaveLength(2);
    expect(root(bench).textContent).toContain('THD F 0.079 % · weighted n²/4 0.081 %');
  });

  it('ticks where a bar stood when the gesture began, and where it was kept', async () => {
    const bench = await ledger({ session: { keptMarks: { 5: -70 } }, live: { gestureMarks: { 2: -35, 10: -Infinity } } });
    const at = (order: number, kind: string) => rows(bench)[order - 2]!.querySelector(`.${kind}`)?.getAttribute('x1') ?? null;
    expect([at(2, 'gesture'), at(3, 'gesture'), at(10, 'gesture'), at(5, 'kept')]).toEqual(['75.00%', null, null, '50.00%']);
    expect(getComputedStyle(rows(bench)[3]!.querySelector('.kept')!).strokeDasharray).not.toBe('none');
    await userEvent.click(button(bench, 'Keep marks'));
    await userEvent.click(button(bench, 'Drop marks'));
    expect(bench.actions).toEqual([{ kind: 'keep-marks' }, { kind: 'drop-marks' }]);
  });

  it('keeps its columns in place whatever the figures', async () => {
    const edges = async (db: number[]) => {
      const bench = await ledger({ live: { harmonics: readingsOf(db) } });
      return [...rows(bench)[0]!.children].map((cell) => Math.round(cell.getBoundingClientRect().left - bench.element.getBoundingClientRect().left));
    };
    const loud = await edges([-6, -6, -6, -6, -6, -6, -6, -6, -6]);
    expect(await edges([-153.5, -109, -Infinity, -Infinity, -Infinity, -Infinity, -Infinity, -Infinity, -Infinity])).toEqual(loud);
  });

  it('swaps percent for sign and degrees', async () => {
    const bench = await ledger({ session: { ledgerShowsPhase: true } });
    expect(cells(bench)[0]).toEqual(['H2', '', '−62.1', '+, −100°', '']);
    expect(cells(bench)[3]!.at(-2)).toBe('−, −7°');
    expect(cells(bench)[8]!.at(-2)).toBe('–');
    await userEvent.click(button(bench, 'Percent'));
    expect(bench.actions).toEqual([{ kind: 'show-phase', shown: false }]);
    bench.element.style.width = '420px';
    await settle(bench.element);
    await settle(bench.element);
    expect(cells(bench)[0]).toEqual(['H2', '', '−62.1', '0.079', '+, −100°', '']);
    expect(root(bench).querySelector('table')!.getBoundingClientRect().width).toBeLessThanOrEqual(420);
  });

  it('says "updating" while the numbers are older than the values, and "held" when held', async () => {
    const word = (bench: Mounted<HarmonicLedger>) => root(bench).querySelector('.state')!.textContent;
    expect(word(await ledger())).toBe('');
    expect(word(await ledger({ live: { revision: 3 } }))).toBe('updating');
    const held = await ledger({ session: { harmonicsHeld: true }, live: { revision: 3 } });
    expect(word(held)).toBe('held');
    await userEvent.click(button(held, 'Let go'));
    expect(held.actions).toEqual([{ kind: 'hold-harmonics', held: false }]);
  });

  it('gives a refusal in place of figures', async () => {
    const bench = await ledger({ live: { harmonics: readingsOf([], { refusal: 'Oscillates or bistable (spectral radius 1.04): no harmonics.' }) } });
    expect(root(bench).querySelector('[role="status"]')!.textContent).toBe('Oscillates or bistable (spectral radius 1.04): no harmonics.');
    expect(rows(bench)).toHaveLength(0);
  });
});

describe('the caption', () => {
  it('has scope, and frequency and level as values that move the probe', async () => {
    const bench = await ledger();
    const editors = [...everyElement(root(bench))].filter((each): each is ValueEditor => each.localName === 'value-editor');
    expect(editors.map((editor) => editor.renderRoot.querySelector('.figure')!.textContent)).toEqual(['200 Hz', '+4 dBu']);
    editors[1]!.focus();
    await userEvent.keyboard('{ArrowUp}');
    editors[0]!.focus();
    await userEvent.keyboard('1k{Enter}');
    await userEvent.selectOptions(find<HTMLSelectElement>(bench.element, 'select'), 'stage');
    expect(bench.actions).toEqual([
      { kind: 'probe', frequencyHz: 200, levelDbu: 4.5 }, { kind: 'probe', frequencyHz: 1000, levelDbu: 4 }, { kind: 'scope', scope: 'stage' },
    ]);
  });

  it.each([['table', 'wide', 320], ['bars', 'narrow', 358]] as const)('keeps the kin of the level inside the page (%s)', async (form, shape, widthPx) => {
    const bench = await ledger({}, { form, shape });
    bench.element.style.width = `${widthPx}px`;
    if (form === 'bars') await userEvent.click(button(bench, 'Probe, marks'));
    await settle(bench.element);
    const editor = [...everyElement(root(bench))].filter((each): each is ValueEditor => each.localName === 'value-editor')[1]!;
    editor.focus();
    await settle(bench.element);
    const kin = editor.renderRoot.querySelector('.kin')!;
    expect(kin.textContent).toContain('1.228 V rms');
    const { left, right } = kin.getBoundingClientRect();
    const place = bench.element.getBoundingClientRect();
    expect(left >= place.left && right <= place.right, `${left}–${right} in ${place.left}–${place.right}`).toBe(true);
  });

  it('keeps the probe and says why when an entry is no frequency', async () => {
    const bench = await ledger();
    const editor = find<ValueEditor>(bench.element, 'value-editor');
    editor.focus();
    await userEvent.keyboard('90 kHz{Enter}');
    await settle(bench.element);
    expect(bench.actions).toEqual([]);
    expect(editor.renderRoot.querySelector('#refusal')!.textContent).toBe('probe: 90 kHz is above 20 kHz. Did you mean 90 Hz?');
  });
});

describe('folded', () => {
  it('stands nine bars upright with the same fills', async () => {
    const bench = await ledger({}, { form: null, shape: 'narrow' });
    const bars = [...root(bench).querySelectorAll('.standing li')];
    expect(bars.map((bar) => bar.querySelector('rect')?.classList.value ?? 'none')).toEqual(['solid', 'solid', 'outline', 'hatched', 'outline', 'hatched', 'hatched', 'none', 'none']);
    expect(bars.map((bar) => bar.querySelector('.db')!.textContent)).toEqual(['−62', '−78', '−88', '−96', '−105', '−111', '−119', '−141', '<−160']);
    const feet = bars.map((bar) => bar.querySelector('rect')).filter((rect) => rect !== null).map((rect) => Math.round(rect.getBoundingClientRect().bottom));
    expect(new Set(feet).size).toBe(1);
    expect(bench.element.scrollWidth).toBeLessThanOrEqual(320);
    expect(root(bench).querySelector('.words')!.textContent).toBe('hatched: commonly judged harsh');
    await userEvent.click(button(bench, 'Probe, marks'));
    await settle(bench.element);
    expect(root(bench).querySelector('.words')!.textContent).toBe('hatched: commonly judged harsh (common practice, no source)');
    expect(root(bench).querySelector('probe-caption')).not.toBeNull();
  });

  it('is one line on a low page, and opens', async () => {
    const bench = await ledger({}, { form: null, low: true });
    expect(root(bench).querySelector('.line')!.textContent).toBe('H2 −62, H3 −78, worst harsh H5 −96');
    expect(rows(bench)).toHaveLength(0);
    await userEvent.click(button(bench, 'Open'));
    await settle(bench.element);
    expect(rows(bench)).toHaveLength(9);
  });
});

describe('the pace', () => {
  /** Widths the H2 bar took, and texts its figure took, over a second of readings every 5 ms. */
  async function changes(): Promise<{ bars: number; figures: number }> {
    const bench = await ledger();
    const state = bench.element.state;
    const seen = { bars: new Set<string>(), figures: new Set<string>() };
    const start = performance.now();
    for (let step = 0; performance.now() - start < 1000; step++) {
      bench.element.state = { ...state, live: { ...state.live, harmonics: readingsOf(decibels.map((db) => db + step / 10)) } };
      await new Promise((done) => setTimeout(done, 5));
      seen.bars.add(rows(bench)[0]!.querySelector('rect')!.getAttribute('width')!);
      seen.figures.add(rows(bench)[0]!.querySelector('.figure')!.textContent!);
    }
    return { bars: seen.bars.size, figures: seen.figures.size };
  }

  it('draws bars at most 30 times a second and figures at most 5, and does draw them', async () => {
    const { bars, figures } = await changes();
    // One more than the rate: what stood before the second began.
    expect(bars).toBeLessThanOrEqual(32);
    expect(bars).toBeGreaterThan(2);
    expect(figures).toBeLessThanOrEqual(7);
    expect(figures).toBeGreaterThan(1);
  });
});
